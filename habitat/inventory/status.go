package inventory

import "rillwood/vector"

// status is what a record says of the tree's life.
type status uint8

const (
	statusNone status = iota // nothing said: the profile's dead share stays
	statusAlive
	statusDead // dead or dying, standing or fallen
	statusRemoved
	statusOdd // a word that is not known; treated as none and counted
)

// Status codes of the US forest inventory database (STATUSCD): 0 no status,
// 1 live, 2 dead, 3 removed. From memory of its user guide.
var statusCodes = map[int64]status{0: statusNone, 1: statusAlive, 2: statusDead, 3: statusRemoved}

// statusWords are everyday words (common practice, no source). A condition
// such as "poor" is not among them: it may mean a bent stem.
var statusWords = map[string]status{
	"alive": statusAlive, "live": statusAlive, "living": statusAlive,
	"dying": statusDead, "declining": statusDead, "dead": statusDead, "snag": statusDead,
	"standing dead": statusDead, "fallen": statusDead, "log": statusDead, "windthrown": statusDead,
	"removed": statusRemoved, "cut": statusRemoved, "harvested": statusRemoved,
	"": statusNone, "unknown": statusNone, "no status": statusNone, "na": statusNone, "n/a": statusNone,
}

func readStatus(v vector.Value) status {
	if code, ok := v.Int(); ok {
		if s, known := statusCodes[code]; known {
			return s
		}
		return statusOdd
	}
	if s, known := statusWords[plainName(v.String())]; known {
		return s
	}
	return statusOdd
}
