package correction

// LevelOf lets tests in package correction_test ask for the gain of filters one after the other.
var LevelOf = levelOf
