package main

type demoCmd struct {
	Dir string `arg:"" help:"Folder to write into; made if missing." type:"path"`
}

func (d *demoCmd) Run(c *console) error { return nil }
