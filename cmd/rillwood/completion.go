package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"rillwood/habitat"
)

// completionCmd prints a script for a shell. The scripts are written from the
// commands themselves, so that they know every command and option there is.
type completionCmd struct {
	Shell string `arg:"" help:"Shell to print it for: ${enum}." enum:"bash,zsh,fish"`
}

func (k *completionCmd) Run(c *console) error {
	app := completions(newParser(c, func(int) {}).Model)
	return c.tell(false, nil, map[string]func(*completed) string{"bash": bashScript, "zsh": zshScript, "fish": fishScript}[k.Shell](app))
}

// completed is what a shell can complete.
type completed struct {
	commands []completedCommand // the program itself first, by the name ""
	valued   []string           // flags that take a value, long and short, with their dashes
}

// completedCommand is a command by its path, such as "record add".
type completedCommand struct {
	path  string
	subs  [][2]string // names and what they do
	flags []completedFlag
	args  []completedValue // of the arguments; the last repeats when many
	many  bool
}

type completedFlag struct {
	long, short string // with their dashes; short may be ""
	help        string
	value       completedValue
	valued      bool
}

// completedValue is what may stand as a value: words, folders, files of some
// endings; nothing that is known where all are empty.
type completedValue struct {
	words   []string
	folders bool
	endings []string // without the dot
}

// none tells whether nothing is known of a value.
func (v completedValue) none() bool { return len(v.words) == 0 && !v.folders && len(v.endings) == 0 }

// completions walks the commands.
func completions(app *kong.Application) *completed {
	out := &completed{}
	takes := map[string]bool{} // by flag: whether it takes a value
	var walk func(n *kong.Node)
	walk = func(n *kong.Node) {
		cmd := completedCommand{path: n.Path()}
		for _, sub := range n.Children {
			if !sub.Hidden {
				cmd.subs = append(cmd.subs, [2]string{sub.Name, sub.Help})
			}
		}
		own, global := flagsOf(n)
		for _, f := range append(own, global...) {
			flag := completedFlag{long: "--" + f.Name, help: f.Help, value: completedBy(app, f.Value), valued: !f.IsBool() && !f.IsCounter()}
			names := []string{flag.long}
			if f.Short != 0 {
				flag.short = fmt.Sprintf("-%c", f.Short)
				names = append(names, flag.short)
			}
			for _, name := range names {
				if old, seen := takes[name]; !seen {
					takes[name] = flag.valued
					if flag.valued {
						out.valued = append(out.valued, name)
					}
				} else if old != flag.valued {
					// The scripts tell words from values without knowing the command.
					panic("the flag " + name + " takes a value in one command and none in another")
				}
			}
			cmd.flags = append(cmd.flags, flag)
		}
		for _, a := range n.Positional {
			cmd.args = append(cmd.args, completedBy(app, a))
			cmd.many = a.IsCumulative()
		}
		out.commands = append(out.commands, cmd)
		for _, sub := range n.Children {
			if !sub.Hidden {
				walk(sub)
			}
		}
	}
	walk(app.Node)
	return out
}

// completedBy reads what a value may be from its enum or its tag
// complete:"…": command, folder, host, profile (built in, or a file), builtin
// (profiles), a list of words that begins with "=", or of endings of files.
func completedBy(app *kong.Application, v *kong.Value) completedValue {
	if v.Enum != "" {
		return completedValue{words: v.EnumSlice()}
	}
	switch kind := v.Tag.Get("complete"); {
	case kind == "":
		return completedValue{}
	case kind == "command":
		var words []string
		for _, l := range app.Leaves(true) {
			for _, w := range strings.Fields(l.Path()) {
				if !slices.Contains(words, w) {
					words = append(words, w)
				}
			}
		}
		return completedValue{words: words}
	case kind == "folder":
		return completedValue{folders: true}
	case kind == "host":
		return completedValue{words: hostIDs()}
	case kind == "profile":
		return completedValue{words: habitat.ProfileNames(), endings: []string{"yaml", "yml"}}
	case kind == "target":
		return completedValue{words: habitat.TargetNames(), endings: []string{"yaml", "yml"}}
	case kind == "builtin":
		return completedValue{words: habitat.ProfileNames()}
	case kind[0] == '=':
		return completedValue{words: strings.Split(kind[1:], ",")}
	default:
		return completedValue{endings: strings.Split(kind, ",")}
	}
}

// hostIDs are the hosts of the built-in profile.
func hostIDs() []string {
	p, err := habitat.LoadProfile(habitat.DefaultProfile)
	if err != nil {
		panic(fmt.Sprintf("the built-in profile: %v", err))
	}
	var ids []string
	for _, h := range p.Hosts {
		ids = append(ids, h.ID)
	}
	return ids
}

// quoted is a word in single quotes, as all three shells read it.
func quoted(s string) string { return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'" }
