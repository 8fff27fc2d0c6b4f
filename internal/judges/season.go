package judges

import (
	_ "embed"
	"testing"
)

// Seasons is what plain Python counts in a station's record.
type Seasons struct {
	First   string         `json:"first"`
	Last    string         `json:"last"`
	Known   map[string]int `json:"known"` // values by element that passed quality control
	Seasons []SeasonCount  `json:"seasons"`
}

// SeasonCount is one season of them.
type SeasonCount struct {
	Year       int     `json:"year"`
	TempDays   int     `json:"temp_days"`
	Strict     int     `json:"strict"`
	Firm       int     `json:"firm"`
	Hard       int     `json:"hard"`
	Average    float64 `json:"average"`
	Sine       float64 `json:"sine"`
	Judged     int     `json:"judged"`
	Good       int     `json:"good"`
	Windows    int     `json:"windows"`
	WindowDays int     `json:"window_days"`
}

//go:embed season.py
var seasonScript string

// CountSeasons counts the seasons of a .dly file, or of a CSV table in the
// units us or metric, by a rule written as JSON.
func CountSeasons(tb testing.TB, path, units, rule string) Seasons {
	tb.Helper()
	var out Seasons
	runScript(tb, "csv, json", seasonScript, &out, path, units, rule)
	return out
}
