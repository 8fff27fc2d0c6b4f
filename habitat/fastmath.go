package habitat

import "math"

// Logarithm and logistic function by table: the judgement of a cell is three
// logarithms and one exponential, which took two thirds of its time. The
// tables are read with straight lines between entries, so the functions stay
// monotone; errors stay below 1e-7, a five-hundredth of the step in which
// probabilities are stored. Only multiplications, additions and table values
// are used, so results are the same on every machine that rounds by IEEE 754.

const (
	lnBits  = 11
	lnSize  = 1 << lnBits
	sigSpan = 16.0 // log-odds beyond ±sigSpan are 0 or 1 to 1e-7
	sigStep = 1.0 / 256
	sigSize = int(2 * sigSpan / sigStep)
)

var (
	lnTable  [lnSize + 1]float64  // ln of 1 … 2
	sigTable [sigSize + 2]float64 // logistic of −sigSpan … sigSpan
	expTable [expSize + 2]float64 // e^x of −expSpan … expSpan
)

const (
	expSpan = 8.0 // relative heights lie between e^−8 and e^8
	expStep = 1.0 / 512
	expSize = int(2 * expSpan / expStep)
)

func init() {
	for i := range lnTable {
		lnTable[i] = math.Log1p(float64(i) / lnSize)
	}
	for i := range sigTable {
		sigTable[i] = 1 / (1 + math.Exp(sigSpan-float64(i)*sigStep))
	}
	for i := range expTable {
		expTable[i] = math.Exp(float64(i)*expStep - expSpan)
	}
}

// fastLn is ln x for a positive, normal, finite x.
func fastLn(x float64) float64 {
	bits := math.Float64bits(x)
	e := int(bits>>52) - 1023
	i := bits >> (52 - lnBits) & (lnSize - 1)
	t := float64(bits&(1<<(52-lnBits)-1)) * (1.0 / (1 << (52 - lnBits)))
	a, b := lnTable[i], lnTable[i+1]
	return float64(e)*math.Ln2 + (a + float64(t*(b-a)))
}

// fastLogistic is 1/(1+e^−x).
func fastLogistic(x float64) float64 {
	u := (x + sigSpan) * (1 / sigStep)
	if !(u > 0) {
		return 0
	}
	if u >= float64(sigSize) {
		return 1
	}
	i := int(u)
	a, b := sigTable[i], sigTable[i+1]
	return a + float64((u-float64(i))*(b-a))
}

// ratioOf is e^mean as relative heights are stored.
func ratioOf(mean float64) uint16 {
	u := (min(max(mean, -expSpan), expSpan) + expSpan) * (1 / expStep)
	i := int(u)
	a, b := expTable[i], expTable[i+1]
	return uint16(min((a+float64((u-float64(i))*(b-a)))*ratioUnit+0.5, storedNone-1))
}
