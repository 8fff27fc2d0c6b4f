package season

import (
	"fmt"
	"strconv"
	"strings"

	"rillwood/habitat/weather"
)

// Daily is the season shown as CSV, a row a day: what was measured or forecast,
// each condition, and whether the day is good and lies in a window.
func (o *Outlook) Daily() []byte {
	var b strings.Builder
	j := o.joined
	s := j.Series
	b.WriteString("date,source,tmin_c,tmax_c,prcp_mm,snow_mm,snwd_mm")
	for _, c := range j.Asked {
		b.WriteString("," + c.String())
	}
	if j.Sum != nil {
		b.WriteString(",degree_days_gathered")
	}
	b.WriteString(",good,in_window\n")
	in := inSpans(j.Windows, s.Len())
	for d := o.Season.First; d <= o.Season.Last; d++ {
		i := int(d - s.First)
		if i < 0 || i >= s.Len() {
			continue
		}
		source := "record"
		if d > o.Station.Last {
			source = "forecast"
		}
		fmt.Fprintf(&b, "%s,%s", d, source)
		for _, e := range []weather.Element{weather.Tmin, weather.Tmax, weather.Precip, weather.Snow, weather.Depth} {
			b.WriteString("," + decimal(s.Values[e][i]))
		}
		for _, c := range j.Asked {
			b.WriteString("," + j.By[c][i].String())
		}
		if j.Sum != nil {
			b.WriteString("," + decimal(j.Sum[i]))
		}
		fmt.Fprintf(&b, ",%s,%s\n", j.Good[i], truthOf(in[i]))
	}
	return []byte(b.String())
}

func decimal(v float64) string {
	if v != v {
		return ""
	}
	return strconv.FormatFloat(tenth(v), 'f', 1, 64)
}
