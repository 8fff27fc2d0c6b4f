package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"rillwood/habitat/handover"
	"rillwood/habitat/pack"
	"rillwood/habitat/results"
)

type packCmd struct {
	Folder string `arg:"" name:"run" help:"Folder a map was written into." type:"path" complete:"folder"`
	Output string `short:"o" help:"Archive to write (default: pack.zip in the folder of the run)." type:"path" complete:"zip" placeholder:"FILE"`
	Top    int    `help:"Pack the first N candidates." default:"10" placeholder:"N"`
	IDs    []int  `name:"ids" help:"Pack these candidates instead, by rank, in this order: 3,7,12." placeholder:"LIST"`
	JSON   bool   `name:"json" help:"Print what was packed as JSON."`
}

func (p *packCmd) Run(c *console) error {
	if p.Top < 1 {
		return fmt.Errorf("--top: expected a number of candidates from 1 on, found %d", p.Top)
	}
	path := p.Output
	if path == "" {
		path = filepath.Join(p.Folder, "pack.zip")
	}
	// No other run's results may come into the folder meanwhile.
	claim, err := handover.HoldFor(path, p.Folder)
	if err != nil {
		return err
	}
	defer claim.Release()
	run, err := results.Open(p.Folder)
	if err != nil {
		return err
	}
	packed, err := pack.Write(c.ctx, path, run, pack.Choice{Ranks: p.IDs, Top: p.Top})
	if err != nil {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "packed %d candidates into %s (%.1f MB): %s\n", len(packed.Ranks), path, float64(packed.Bytes)/1e6, strings.Join(packed.Files, ", "))
	for _, n := range packed.Notes {
		fmt.Fprintf(&b, "note: %s\n", n)
	}
	b.WriteString("Whoever has this pack has the places. A map says where to look, never what is\nsafe to eat: README.txt in it has every warning, each sheet the gravest.\n")
	return c.tell(p.JSON, packed, b.String())
}
