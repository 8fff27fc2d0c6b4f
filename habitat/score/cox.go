package score

import "math"

// leastChance is how near a chance may come to 0 or 1 before its logit is
// taken, so that one record of chance 0 does not decide the slope.
const leastChance = 1e-6

// Logits is how chances must be stretched and shifted, on the logit scale, to
// fit what was seen: logit P = Intercept + Slope · logit p (Cox 1958,
// Biometrika 45:562–565, from memory). 0 and 1 are perfect; a slope below 1
// means chances too bold. Shift is the intercept with the slope held at 1:
// above 0, more came true than was said.
type Logits struct {
	Slope     Figure `json:"slope"`
	Intercept Figure `json:"intercept"`
	Shift     Figure `json:"shift"`
}

// Logits fits by maximum likelihood; standard errors are those of the
// information matrix, trials taken as independent. Chances are held at least
// 1e-6 from 0 and 1.
func (s Sample) Logits() Logits {
	why := s.chances()
	if why == "" {
		why = s.bothKinds()
	}
	if why != "" {
		return Logits{unknown("%s", why), unknown("%s", why), unknown("%s", why)}
	}
	x := make([]float64, len(s.Score))
	for i, p := range s.Score {
		p = min(max(p, leastChance), 1-leastChance)
		x[i] = math.Log(p / (1 - p))
	}
	out := Logits{Shift: s.shift(x)}
	if why := s.apart(x); why != "" {
		out.Slope, out.Intercept = unknown("%s", why), unknown("%s", why)
		return out
	}
	out.Intercept, out.Slope = s.line(x)
	return out
}

// apart is empty when the most likely line exists: scores vary, and those of
// yes and no overlap (Albert and Anderson 1984, Biometrika 71:1–10, from
// memory).
func (s Sample) apart(x []float64) string {
	inf := math.Inf(1)
	yesLow, yesHigh, noLow, noHigh := inf, -inf, inf, -inf
	for i, v := range x {
		if s.Yes[i] > 0 {
			yesLow, yesHigh = min(yesLow, v), max(yesHigh, v)
		}
		if s.No[i] > 0 {
			noLow, noHigh = min(noLow, v), max(noHigh, v)
		}
	}
	switch {
	case min(yesLow, noLow) == max(yesHigh, noHigh):
		return "all scores are alike"
	case yesLow >= noHigh || noLow >= yesHigh:
		return "scores part yes from no without overlap: no slope is the most likely"
	}
	return ""
}

// shift finds the intercept with slope 1; it always exists with both kinds.
func (s Sample) shift(x []float64) Figure {
	// The number expected to be rises with a, from none to all: bisect, then
	// there is nothing that could fail to converge.
	yes, _ := s.Totals()
	low, high := -40.0, 40.0
	var info float64
	for range 60 { // 80 / 2⁶⁰ is less than rounding
		a := (low + high) / 2
		sum := 0.0
		info = 0
		for i, v := range x {
			p := logistic(a + v)
			sum += (s.Yes[i] + s.No[i]) * p
			info += (s.Yes[i] + s.No[i]) * p * (1 - p)
		}
		if sum < yes {
			low = a
		} else {
			high = a
		}
	}
	return Figure{Value: (low + high) / 2, SE: 1 / math.Sqrt(info)}
}

// line is Newton's method with halved steps; the likelihood is concave.
func (s Sample) line(x []float64) (intercept, slope Figure) {
	// Centred and scaled, so that logits far from 0 do no harm.
	n, mean := 0.0, 0.0
	for i, v := range x {
		n += s.Yes[i] + s.No[i]
		mean += (s.Yes[i] + s.No[i]) * v
	}
	mean /= n
	spread := 0.0
	for i, v := range x {
		spread += (s.Yes[i] + s.No[i]) * (v - mean) * (v - mean)
	}
	spread = math.Sqrt(spread / n)
	z := make([]float64, len(x))
	for i, v := range x {
		z[i] = (v - mean) / spread
	}
	r := s.Rate()
	a, b := math.Log(r/(1-r)), 0.0
	now := s.likelihood(z, a, b)
	var haa, hab, hbb float64
	settled := false
	for range 100 {
		var ga, gb float64
		haa, hab, hbb = 0, 0, 0
		for i, v := range z {
			p := logistic(a + b*v)
			of := s.Yes[i] + s.No[i]
			ga += s.Yes[i] - of*p
			gb += (s.Yes[i] - of*p) * v
			w := of * p * (1 - p)
			haa += w
			hab += w * v
			hbb += w * v * v
		}
		det := haa*hbb - hab*hab
		if !(det > 0) {
			break
		}
		da, db := (hbb*ga-hab*gb)/det, (haa*gb-hab*ga)/det
		if math.Abs(da)+math.Abs(db) < 1e-10 {
			settled = true
			break
		}
		step := 1.0
		for ; step > 1e-6; step /= 2 {
			if l := s.likelihood(z, a+step*da, b+step*db); l >= now-1e-12*math.Abs(now) {
				now = l
				break
			}
		}
		a, b = a+step*da, b+step*db
	}
	if !settled {
		f := unknown("the slope did not settle: yes and no hardly overlap")
		return f, f
	}
	// Back to logits as they were: b/spread, a − b·mean/spread.
	det := haa*hbb - hab*hab
	vaa, vab, vbb := hbb/det, -hab/det, haa/det
	m := mean / spread
	return Figure{Value: a - b*m, SE: math.Sqrt(max(0, vaa-2*m*vab+m*m*vbb))},
		Figure{Value: b / spread, SE: math.Sqrt(vbb) / spread}
}

func (s Sample) likelihood(z []float64, a, b float64) float64 {
	sum := 0.0
	for i, v := range z {
		e := a + b*v
		sum += s.Yes[i]*e - (s.Yes[i]+s.No[i])*softplus(e)
	}
	return sum
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// softplus is ln(1 + eˣ) without overflow.
func softplus(x float64) float64 { return max(x, 0) + math.Log1p(math.Exp(-math.Abs(x))) }
