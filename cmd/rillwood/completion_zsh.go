package main

import (
	"fmt"
	"strings"
)

// zshScript completes in zsh, by a function for each command.
func zshScript(app *completed) string {
	var b strings.Builder
	b.WriteString("#compdef rillwood\n# Completion for rillwood in zsh. Made by: rillwood completion zsh\n")
	for _, c := range app.commands {
		fmt.Fprintf(&b, "\n%s() {\n", zshName(c.path))
		if len(c.subs) > 0 {
			b.WriteString("    local line state\n    local -a commands\n    commands=(\n")
			for _, s := range c.subs {
				b.WriteString("        " + quoted(s[0]+":"+strings.ReplaceAll(s[1], ":", `\:`)) + "\n")
			}
			b.WriteString("    )\n")
		}
		b.WriteString("    _arguments -s -S")
		if len(c.subs) > 0 {
			b.WriteString(" -C")
		}
		for _, f := range c.flags {
			b.WriteString(" \\\n        " + zshFlag(f))
		}
		for i, v := range c.args {
			at := fmt.Sprint(i + 1)
			if c.many && i == len(c.args)-1 {
				at = "*"
			}
			b.WriteString(" \\\n        " + quoted(at+": :"+zshValue(v)))
		}
		if len(c.subs) > 0 {
			b.WriteString(" \\\n        '1: :->command' \\\n        '*:: :->rest'\n")
			b.WriteString("    case $state in\n    command) _describe -t commands command commands ;;\n    rest)\n        case $line[1] in\n")
			for _, s := range c.subs {
				fmt.Fprintf(&b, "        %s) %s ;;\n", s[0], zshName(strings.TrimSpace(c.path+" "+s[0])))
			}
			b.WriteString("        esac ;;\n    esac\n}\n")
			continue
		}
		b.WriteString("\n}\n")
	}
	// Words that are known, or a file.
	b.WriteString("\n_rillwood_either() {\n    local -a words\n    words=(${=1})\n    _alternative 'names:name:compadd -a words' \"files:file:_files -g ${(qq)2}\"\n}\n")
	b.WriteString("\nif [[ $funcstack[1] == _rillwood ]]; then\n    _rillwood \"$@\"\nelse\n    compdef _rillwood rillwood\nfi\n")
	return b.String()
}

// zshName is the function of a command.
func zshName(path string) string {
	if path == "" {
		return "_rillwood"
	}
	return "_rillwood_" + strings.ReplaceAll(path, " ", "_")
}

// zshFlag is what _arguments is told of a flag.
func zshFlag(f completedFlag) string {
	what := "[" + strings.NewReplacer("[", `\[`, "]", `\]`).Replace(f.help) + "]"
	if f.valued {
		what += ":value:" + zshValue(f.value)
	}
	long := f.long
	if f.valued {
		long += "="
	}
	if f.short == "" {
		return quoted(long + what)
	}
	short := f.short
	if f.valued {
		short += "+"
	}
	return quoted("("+f.long+" "+f.short+")") + "{" + short + "," + long + "}" + quoted(what)
}

// zshValue is the action that completes a value.
func zshValue(v completedValue) string {
	words := "(" + strings.Join(v.words, " ") + ")"
	files := ""
	switch {
	case len(v.endings) > 0:
		files = `_files -g "*.(` + strings.Join(v.endings, "|") + `)"`
	case v.folders:
		files = "_files -/"
	}
	switch {
	case v.none():
		return " "
	case files == "":
		return words
	case len(v.words) == 0:
		return files
	}
	return ` _rillwood_either "` + strings.Join(v.words, " ") + `" "*.(` + strings.Join(v.endings, "|") + `)"`
}
