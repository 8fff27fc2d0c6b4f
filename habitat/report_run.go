package habitat

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"path/filepath"
	"slices"

	"rillwood/habitat/chart"
	"rillwood/habitat/field"
	"rillwood/habitat/learn"
	"rillwood/habitat/report"
	"rillwood/habitat/results"
	"rillwood/habitat/score"
	"rillwood/habitat/trip"
)

const reportName = "report.html"

// writeReport writes the page of a run that is finished but for it.
func (p *publication) writeReport(ctx context.Context, stage string) error {
	tell := p.o.stage("writing the report")
	run, err := results.Open(stage)
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	if err := report.Write(ctx, filepath.Join(stage, reportName), run, report.Options{Rates: ratesOf(run.Hosts, nil, nil)}); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	tell(1)
	return nil
}

// withoutPage gives the survey of the run, without its page where that cannot
// show the ground, which is said.
func (in *Inputs) withoutPage() (*Survey, error) {
	across, err := results.Across(in.Frame)
	if err != nil {
		return nil, fmt.Errorf("elevation: %q: places on this map have no longitude and latitude on the earth (%w); set elevation.crs if the file names the wrong system", in.Elevation[0].Path, err)
	}
	if !across || !in.Survey.Output.Report {
		return in.Survey, nil
	}
	s := *in.Survey
	s.Output.Report = false
	in.Survey = &s
	in.Warnings = append(in.Warnings, "the map crosses the 180th meridian: rasters and shortlist are whole, page, sheets and pack cannot be made of it")
	return &s, nil
}

// ReportOptions say what a report tells beside the run itself.
type ReportOptions struct {
	Records []field.Record
	Profile string // that the run was made with, where it is not built in: for the calibration
	Trip    string // trip.json of a planned day to show; "" = none
	Before  string // folder of an earlier run, to show what was learned since; "" = none
}

// Report writes the page of a finished run again at path, with field records
// and with what was learned since an earlier run. Notes say what could not be
// told; they stand on the page too.
func Report(ctx context.Context, folder, path string, o ReportOptions) (notes []string, err error) {
	run, err := results.Open(folder)
	if err != nil {
		return nil, err
	}
	day, err := tripOf(run, o.Trip)
	if err != nil {
		return nil, err
	}
	if len(o.Records) == 0 && o.Before == "" {
		return nil, report.Write(ctx, path, run, report.Options{Rates: ratesOf(run.Hosts, nil, nil), Trip: day})
	}
	opened, err := OpenRun(folder)
	if err != nil {
		return nil, err
	}
	told := &report.Records{}
	var before []results.Host
	if o.Before != "" {
		b, err := OpenRun(o.Before)
		if err != nil {
			return nil, err
		}
		earlier, err := results.Open(o.Before)
		if err != nil {
			return nil, err
		}
		before = earlier.Hosts
		told.Weights = weightsOf(&b.Record, &opened.Record)
	}
	tally := field.Count(o.Records)
	told.Trees, told.Finds = tally.Trees, tally.Finds
	for _, r := range o.Records {
		told.Points = append(told.Points, report.Point{Lon: r.Lon, Lat: r.Lat, Date: r.Day(), Host: r.Host, Condition: r.Condition, Inspected: r.Inspected, Finds: r.Found, Confirmed: r.Confirmed, Note: r.Note})
	}
	if len(o.Records) > 0 {
		told.Calibration, err = calibration(ctx, opened, o)
		if errors.Is(err, errAllLearned) && o.Before != "" {
			// The map before had not seen these records: hold that one against them.
			var b *Run
			if b, err = OpenRun(o.Before); err == nil {
				told.Calibration, err = calibration(ctx, b, ReportOptions{Records: o.Records})
			}
			if err == nil {
				told.Notes = append(told.Notes, "The figure of what was said and seen is of the map before, which had not learned from these records.")
			}
		}
		if err != nil {
			told.Notes = append(told.Notes, "No figure of what was said and seen: "+err.Error())
		}
	}
	return told.Notes, report.Write(ctx, path, run, report.Options{Records: told, Rates: ratesOf(run.Hosts, before, tally.Hosts), Trip: day})
}

// tripOf reads the plan of a day, which must be of this run: ranks are another
// patch's in the next.
func tripOf(run *results.Run, path string) (*trip.Plan, error) {
	if path == "" {
		return nil, nil
	}
	p, err := trip.Read(path)
	if err != nil {
		return nil, err
	}
	if p.Run == run.ID {
		return p, nil
	}
	return nil, fmt.Errorf("trip %q was planned for run %q, this is run %q; plan it again with rillwood trip", path, results.Clip(p.Run, 40), run.ID)
}

// errAllLearned is what calibration says when no record is left to score by.
var errAllLearned = errors.New("no record here that the profile has not learned from; rillwood score --all scores by all of them")

// calibration scores the map by the records and draws its curve: of the finds
// where trees were looked at, else of where hosts stood.
func calibration(ctx context.Context, run *Run, o ReportOptions) (template.HTML, error) {
	p, err := run.LoadProfile(o.Profile)
	if err != nil {
		return "", err
	}
	scored, err := ScoreRecords(ctx, run, p, o.Records, LearnOptions{Learned: p.Posterior})
	if err != nil {
		return "", err
	}
	for _, r := range []*score.Report{scored.Hosts, scored.Finds} {
		if r == nil {
			continue
		}
		if svg, ok := r.Plot(); ok {
			return svg, nil
		}
	}
	return "", errAllLearned
}

// ratesOf gives the hosts' hit rates with their intervals (equal tails of the
// Beta that the profile believes in), the likeliest first.
func ratesOf(hosts, before []results.Host, tally []field.HostTally) []chart.Rate {
	var out []chart.Rate
	for _, h := range hosts {
		if !(h.Of > 0 && h.Weight > 0) {
			continue
		}
		r := chart.Rate{Host: h.Common, Interval: rateInterval(h)}
		for _, t := range tally {
			if t.Host == h.ID {
				r.Trees, r.Finds = float64(t.Trees), float64(t.Finds)
			}
		}
		for _, b := range before {
			if b.ID == h.ID && b.Of > 0 && b.Weight > 0 && b != h {
				was := rateInterval(b)
				r.Before = &was
			}
		}
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b chart.Rate) int {
		switch {
		case a.Mean > b.Mean:
			return -1
		case a.Mean < b.Mean:
			return 1
		}
		return 0
	})
	return out
}

func rateInterval(h results.Host) chart.Interval {
	b := HitRate{Hits: h.Hits, Of: h.Of, Weight: h.Weight}.Beta()
	low, high := learn.Beta{A: b.A, B: b.B}.Interval(learnLevel)
	return chart.Interval{Mean: h.Hits / h.Of, Low: low, High: high}
}

// weightsOf pairs the weights of two runs with their intervals (Gaussian).
func weightsOf(before, after *Record) []chart.Weight {
	words := map[string]string{"intercept": "constant", "weight_r": "height, larger streams", "weight_small": "height, any stream", "weight_slope": "slope", "weight_distance": "distance"}
	a, b := runWeights(before), runWeights(after)
	var out []chart.Weight
	for i, name := range WeightNames() {
		out = append(out, chart.Weight{Name: name, Words: words[name], Before: gaussian(a[i]), After: gaussian(b[i])})
	}
	return out
}

// runWeights are the weights a run used, in the order of WeightNames.
func runWeights(r *Record) []Weight {
	b := r.Profile.Bottomland
	out := []Weight{b.Intercept, b.WeightR, b.WeightSmall, b.WeightSlope, b.WeightDistance}
	if r.Survey.Evidence.ValleyFlatness {
		out[0], out[3] = b.Flatness.Intercept, b.Flatness.WeightSlope
	}
	return out
}

func gaussian(w Weight) chart.Interval {
	half := normalQuantile((1+learnLevel)/2) * w.SD
	return chart.Interval{Mean: w.Value, Low: w.Value - half, High: w.Value + half}
}
