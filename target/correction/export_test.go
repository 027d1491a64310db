package correction

// LevelOf gives package correction_test the gain of filters in series.
var LevelOf = levelOf
