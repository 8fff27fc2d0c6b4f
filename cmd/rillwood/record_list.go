package main

import "rillwood/habitat/field"

type recordListCmd struct {
	Store string `arg:"" help:"Folder of the store." type:"path" complete:"folder"`
	JSON  bool   `name:"json" help:"Print it as JSON."`
}

// tally is what a store holds, for a program.
type tally struct {
	Rows      int         `json:"rows"`
	Trips     int         `json:"trips"`
	Stops     int         `json:"stops"`
	First     string      `json:"first_day"` // "" when there are no records
	Last      string      `json:"last_day"`
	Minutes   float64     `json:"minutes"`
	Trees     int         `json:"inspected"`
	Finds     int         `json:"found"`
	Confirmed int         `json:"confirmed"`
	Refuted   int         `json:"refuted"`
	Hosts     []hostTally `json:"hosts"`
	Flags     []flagCount `json:"flags"`
	Caution   string      `json:"caution"`
}

type hostTally struct {
	Host      string `json:"host"` // "" when not told
	Stops     int    `json:"stops"`
	Absent    int    `json:"absent"`
	Trees     int    `json:"inspected"`
	Finds     int    `json:"found"`
	Confirmed int    `json:"confirmed"`
}

func tallyOf(t field.Tally) tally {
	out := tally{t.Rows, t.Trips, t.Stops, t.First, t.Last, t.Minutes, t.Trees, t.Finds, t.Confirmed, t.Refuted, []hostTally{}, flagsIn(t), field.SafetyLine}
	for _, h := range t.Hosts {
		out.Hosts = append(out.Hosts, hostTally{h.Host, h.Stops, h.Absent, h.Trees, h.Finds, h.Confirmed})
	}
	return out
}

func (l *recordListCmd) Run(c *console) error {
	records, err := loadStore(c, l.Store)
	if err != nil {
		return err
	}
	t := field.Count(records)
	return c.tell(l.JSON, tallyOf(t), t.Text())
}

// loadStore reads a store and says which of its lines are damaged.
func loadStore(c *console, dir string) ([]field.Record, error) {
	store, err := field.Open(dir)
	if err != nil {
		return nil, err
	}
	records, warnings, err := store.Load()
	if err != nil {
		return nil, err
	}
	for _, w := range warnings {
		c.say("warning", "%s", w)
	}
	return records, nil
}
