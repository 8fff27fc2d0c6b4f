package main

import (
	"fmt"
	"strings"
)

// fishHead tells where on the command line one is.
const fishHead = `# Completion for rillwood in fish. Made by: rillwood completion fish

# __rillwood_at PATH [N]: whether the words so far are that command, and the
# next one is its argument of that number ("2+": of that number or more).
function __rillwood_at
    set -l words (commandline -opc)
    set -e words[1]
    set -l path
    set -l args 0
    set -l value 0
    set -l only_args 0
    for word in $words
        if test $value = 1
            set value 0
        else if test $only_args = 0; and test "$word" = --
            set only_args 1
        else if test $only_args = 0; and string match -q -- '-*' "$word"
            contains -- "$word" @VALUED@; and set value 1
        else if test $args = 0; and contains -- "$path$word" @PATHS@
            set path "$path$word "
        else
            set args (math $args + 1)
        end
    end
    test "$argv[1]" = (string trim -- "$path"); or return 1
    set -q argv[2]; or return 0
    switch $argv[2]
        case '*+'
            test (math $args + 1) -ge (string trim -rc + -- $argv[2])
        case '*'
            test (math $args + 1) -eq $argv[2]
    end
end

# __rillwood_files ENDING...: files of these endings, and folders on the way.
function __rillwood_files
    set -l now (commandline -ct | string replace -r -- '^--[^=]*=' '')
    for name in (complete -C "'' $now")
        set -l file (string split -f1 \t -- $name)
        if string match -q -- '*/' $file
            echo $name
            continue
        end
        for ending in $argv
            string match -q -- "*.$ending" $file; and echo $name
        end
    end
end

complete -c rillwood -f
`

// fishScript completes in fish.
func fishScript(app *completed) string {
	var b strings.Builder
	var paths []string
	for _, c := range app.commands[1:] {
		paths = append(paths, quoted(c.path))
	}
	head := strings.Replace(fishHead, "@VALUED@", strings.Join(app.valued, " "), 1)
	b.WriteString(strings.Replace(head, "@PATHS@", strings.Join(paths, " "), 1))
	for _, c := range app.commands {
		at := func(n string) string {
			return "complete -c rillwood -n " + fishQuoted(strings.TrimSpace("__rillwood_at "+fishQuoted(c.path)+" "+n))
		}
		b.WriteByte('\n')
		for _, s := range c.subs {
			fmt.Fprintf(&b, "%s -a %s -d %s\n", at("1"), s[0], fishQuoted(s[1]))
		}
		for i, v := range c.args {
			n := fmt.Sprint(i + 1)
			if c.many && i == len(c.args)-1 {
				n += "+"
			}
			if !v.none() {
				fmt.Fprintf(&b, "%s -a %s\n", at(n), fishQuoted(fishValue(v)))
			}
		}
		for _, f := range c.flags {
			line := at("") + " -l " + f.long[2:]
			if f.short != "" {
				line += " -s " + f.short[1:]
			}
			if f.valued {
				line += " -x"
				if !f.value.none() {
					line += " -a " + fishQuoted(fishValue(f.value))
				}
			}
			b.WriteString(line + " -d " + fishQuoted(f.help) + "\n")
		}
	}
	return b.String()
}

// fishValue is the list of what a value may be.
func fishValue(v completedValue) string {
	parts := append([]string{}, v.words...)
	switch {
	case len(v.endings) > 0:
		parts = append(parts, "(__rillwood_files "+strings.Join(v.endings, " ")+")")
	case v.folders:
		parts = append(parts, "(__fish_complete_directories)")
	}
	return strings.Join(parts, " ")
}

// fishQuoted is a word in single quotes; fish knows backslashes inside them.
func fishQuoted(s string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, "'", `\'`).Replace(s) + "'"
}
