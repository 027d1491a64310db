package change

var (
	Analyse = analyse
	Relabel = relabel
)
