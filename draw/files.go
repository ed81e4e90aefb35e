package draw

import "strconv"

// The names of a publication's files, in the order in which they appear.
const (
	OpeningFile   = "opening.txt"
	RulesFile     = "rules.txt"
	RollFile      = "roll.txt"
	ExcludedFile  = "excluded.txt"
	FreezeFile    = "freeze.txt"
	RecordFile    = "record.txt"
	OutcomeFile   = "outcome.txt"
	CancelledFile = "cancelled.txt"
)

// stems are the names before ".txt" and before ".<revision>.txt".
var stems = []string{"opening", "rules", "roll", "excluded", "freeze", "record", "outcome", "cancelled"}

// KeptFile is the name under which revision n of a file is kept once a later
// one replaces it: opening.1.txt.
func KeptFile(file string, n int) string {
	return file[:len(file)-len("txt")] + strconv.Itoa(n) + ".txt"
}
