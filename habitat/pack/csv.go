package pack

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"

	"rillwood/habitat/results"
	"rillwood/vector"
)

// writeCSV writes one row a candidate (RFC 4180, UTF-8): what is not known is
// empty. Text that a spreadsheet would take for a formula gets a ' before it.
func writeCSV(path string, run *results.Run, list []*results.Candidate) error {
	return vector.WriteBeside(path, func(w io.Writer) error {
		out := csv.NewWriter(w)
		out.UseCRLF = true
		columns := columns(run)
		row := make([]string, len(columns))
		for i, k := range columns {
			row[i] = k.name
		}
		if err := out.Write(row); err != nil {
			return err
		}
		for _, c := range list {
			for i, k := range columns {
				row[i] = cell(k.of(c))
			}
			if err := out.Write(row); err != nil {
				return err
			}
		}
		out.Flush()
		return out.Error()
	})
}

func cell(v any) string {
	switch v := v.(type) {
	case int:
		return strconv.Itoa(v)
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return ""
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	case string:
		return disarmed(plain(v))
	}
	return ""
}

// disarmed puts an apostrophe before text that a spreadsheet would run as a
// formula, wide forms included (OWASP, CSV Injection; tab and return cannot
// stand in plain text). Apostrophes before such a mark count as text, so that
// taking one away gives every text back.
func disarmed(s string) string {
	if t := strings.TrimLeft(s, "'"); t != "" && strings.ContainsRune("=+-@＝＋－＠", []rune(t)[0]) {
		return "'" + s
	}
	return s
}
