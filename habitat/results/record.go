package results

import (
	"encoding/json"
	"errors"
	"fmt"

	"rillwood/habitat/handover"
)

// Format is the form of run.json this package reads.
const Format = "rillwood-run-1"

// ErrHalf is what Open says of a folder in which a run was cut off while its
// results were put in place.
var ErrHalf = errors.New("a run was stopped here while its results were put in place; run rillwood map again, which finishes that first")

type record struct {
	Format   string            `json:"format"`
	Run      string            `json:"run"`
	Software map[string]string `json:"software"`
	Caution  string            `json:"caution"`
	Cautions []struct {
		Key   string `json:"key"`
		Title string `json:"title"`
		Text  string `json:"text"`
		Short bool   `json:"short"`
	} `json:"cautions"`
	Help struct {
		PoisonLine string `json:"poison_line"`
		Emergency  string `json:"emergency"`
		Where      string `json:"where"`
	} `json:"help"`
	Target struct {
		Common     string `json:"common"`
		Scientific string `json:"scientific"`
		Months     []int  `json:"months"`
	} `json:"target"`
	Survey struct {
		Name      string  `json:"name"`
		Threshold float64 `json:"threshold"`
	} `json:"survey"`
	Inputs []Input `json:"inputs"`
	Frame  struct {
		Window [4]int `json:"written_window"`
	} `json:"frame"`
	Profile struct {
		Name  string `json:"name"`
		Hosts []struct {
			ID         string `json:"id"`
			Common     string `json:"common"`
			Scientific string `json:"scientific"`
			Winter     string `json:"winter"`
		} `json:"hosts"`
		Rates []struct {
			Host   string  `json:"host"`
			Hits   float64 `json:"hits"`
			Of     float64 `json:"of"`
			Weight float64 `json:"weight"`
		} `json:"hit_rates"`
	} `json:"profile"`
	Counts struct {
		Found int `json:"patches_found"`
	} `json:"counts"`
	Warnings []string `json:"warnings"`
	Outputs  []string `json:"outputs"`
}

// readRecord reads run.json; what an earlier version did not write is a note.
func (r *Run) readRecord(path string) error {
	if handover.Pending(r.Folder) {
		return ErrHalf
	}
	data, err := ReadFile(path)
	if err != nil {
		return err
	}
	if err := r.parseRecord(data); err != nil {
		return fmt.Errorf("run.json: %w", err)
	}
	return nil
}

func (r *Run) parseRecord(data []byte) error {
	var head struct {
		Format *string `json:"format"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return Damaged(data, err)
	}
	switch {
	case head.Format == nil:
		return errors.New(`"format" is missing, so it is no record of a run; give the folder that a run wrote`)
	case *head.Format != Format:
		return fmt.Errorf("format is %q, this version reads %q; make the map again with this version", Clip(*head.Format, 40), Format)
	}
	var rec record
	if err := json.Unmarshal(data, &rec); err != nil {
		return Damaged(data, err)
	}
	if rec.Run == "" {
		return errors.New(`"run" is missing; the record is damaged, make the map again`)
	}
	r.ID, r.Name, r.Threshold, r.Found = rec.Run, rec.Survey.Name, rec.Survey.Threshold, rec.Counts.Found
	r.Warnings, r.outputs, r.window, r.Inputs, r.Profile = rec.Warnings, rec.Outputs, rec.Frame.Window, rec.Inputs, rec.Profile.Name
	r.Software = rec.Software["rillwood"]
	if r.Software != "" {
		r.Software = "Rillwood " + r.Software
	}
	r.Target = Target{rec.Target.Common, rec.Target.Scientific, rec.Target.Months}
	r.Help = Help{rec.Help.PoisonLine, rec.Help.Emergency, rec.Help.Where}
	for _, c := range rec.Cautions {
		r.Cautions = append(r.Cautions, Caution{c.Key, c.Title, c.Text, c.Short})
	}
	if len(r.Cautions) == 0 {
		r.Cautions = []Caution{{"map", "The map is about trees", rec.Caution, true}}
		r.Notes = append(r.Notes, "run.json is of an earlier version and lacks the cautions; make the map again")
	}
	for _, h := range rec.Profile.Hosts {
		r.Hosts = append(r.Hosts, Host{ID: h.ID, Common: h.Common, Scientific: h.Scientific, Winter: h.Winter})
	}
	if len(r.Hosts) == 0 {
		for _, q := range rec.Profile.Rates {
			r.Hosts = append(r.Hosts, Host{ID: q.Host, Common: q.Host})
		}
	}
	for i := range r.Hosts {
		for _, q := range rec.Profile.Rates {
			if q.Host == r.Hosts[i].ID {
				r.Hosts[i].Hits, r.Hosts[i].Of, r.Hosts[i].Weight = q.Hits, q.Of, q.Weight
			}
		}
	}
	return nil
}

// HostByID finds a host; an unknown one is named by its id.
func (r *Run) HostByID(id string) Host {
	for _, h := range r.Hosts {
		if h.ID == id {
			return h
		}
	}
	return Host{ID: id, Common: id}
}
