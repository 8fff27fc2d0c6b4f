package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"rillwood/habitat"
	"rillwood/internal/newfile"
)

type initCmd struct {
	Dir     string `arg:"" help:"Folder to write into; made if missing." type:"path" complete:"folder"`
	Profile string `help:"Built-in profile to write beside the survey." default:"${profile}" placeholder:"NAME" complete:"builtin"`
	JSON    bool   `name:"json" help:"Print what was written as JSON."`
}

// wrote is what a command has written, for a program.
type wrote struct {
	Wrote []string `json:"wrote"`
}

func (i *initCmd) Run(c *console) error {
	profile, err := habitat.BuiltinProfile(i.Profile)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(i.Dir, 0o755); err != nil {
		return fmt.Errorf("make the folder: %w", err)
	}
	name := "profile-" + i.Profile + ".yaml"
	var done wrote
	text := ""
	survey := habitat.Template(habitat.TemplateInputs{Profile: name})
	for _, f := range []struct {
		name string
		data []byte
	}{{"survey.yaml", survey}, {name, profile}} {
		path := filepath.Join(i.Dir, f.name)
		if err := writeNew(path, f.data); err != nil {
			return err
		}
		done.Wrote = append(done.Wrote, path)
		text += fmt.Sprintf("wrote %s\n", path)
	}
	text += fmt.Sprintf("Name your elevation in survey.yaml, then run: rillwood check %s\n", filepath.Join(i.Dir, "survey.yaml"))
	return c.tell(i.JSON, done, text)
}

// writeNew writes a file that must not exist yet.
func writeNew(path string, data []byte) error {
	err := newfile.WriteNewBytes(path, data)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already and was left alone; move it away or choose another folder", path)
	}
	return err
}
