package habitat

// Detection is how surely a find is noticed at one visit, from places that
// were visited more than once in a season.
type Detection struct {
	Places int        `json:"places"`
	Visits int        `json:"visits"`
	Chance [3]float64 `json:"chance"`   // at one visit, of a place that has any: mean, low, high
	Having [3]float64 `json:"occupied"` // share of the places that have any
}

func (d *Detection) Text() string { return "" }

func (l *Learned) detection(d *fieldData) error { return nil }
