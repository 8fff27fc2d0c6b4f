package score

import (
	"encoding/json"
	"fmt"
	"math"
)

// Figure is one number of a report. Value is NaN when there is none, and Why
// then says why; SE is its standard error, NaN when none is given. With a
// Value, Why is a caution about it.
type Figure struct {
	Value float64
	SE    float64
	Why   string
}

// Known tells whether there is a value.
func (f Figure) Known() bool { return !math.IsNaN(f.Value) }

// MarshalJSON writes null for what is not known: JSON has no NaN.
func (f Figure) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Value *float64 `json:"value"`
		SE    *float64 `json:"se,omitempty"`
		Why   string   `json:"why,omitempty"`
	}{finite(f.Value), finite(f.SE), f.Why})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (f *Figure) UnmarshalJSON(data []byte) error {
	var in struct {
		Value *float64 `json:"value"`
		SE    *float64 `json:"se"`
		Why   string   `json:"why"`
	}
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	*f = Figure{Value: math.NaN(), SE: math.NaN(), Why: in.Why}
	if in.Value != nil {
		f.Value = *in.Value
	}
	if in.SE != nil {
		f.SE = *in.SE
	}
	return nil
}

func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func known(v float64) Figure { return Figure{Value: v, SE: math.NaN()} }

func unknown(format string, args ...any) Figure {
	return Figure{Value: math.NaN(), SE: math.NaN(), Why: fmt.Sprintf(format, args...)}
}
