package main

import (
	"fmt"
	"strings"
)

// bashHead is the part of the script that is the same for all commands. It
// needs nothing but bash 3.2: words that bash has cut at "=" are put together,
// names may hold blanks.
const bashHead = `# Completion for rillwood in bash. Made by: rillwood completion bash

# _rillwood_offer WORD...: those that begin as what is being written.
_rillwood_offer() {
    local word
    for word in "$@"; do
        [[ $word == "$cur"* ]] && COMPREPLY+=("$word")
    done
}

# _rillwood_files ENDING...: files of these endings, and folders on the way.
_rillwood_files() {
    local name ending
    compopt -o filenames 2>/dev/null
    while IFS= read -r name; do COMPREPLY+=("$name"); done < <(compgen -d -- "$cur")
    for ending in "$@"; do
        while IFS= read -r name; do
            [[ -d $name ]] || COMPREPLY+=("$name")
        done < <(compgen -f -X "!*.$ending" -- "$cur")
    done
}

_rillwood() {
    local cur=${COMP_WORDS[COMP_CWORD]} command= flag= args=0 only_args= word i
    COMPREPLY=()
    for ((i = 1; i < COMP_CWORD; i++)); do
        word=${COMP_WORDS[i]}
        if [[ $word == = ]]; then
            # --flag=value comes as three words.
            [[ -n $flag ]] || flag==
        elif [[ -n $flag ]]; then
            flag=
        elif [[ -z $only_args && $word == -- ]]; then
            only_args=1
        elif [[ -z $only_args && $word == -* ]]; then
            case $word in
            @VALUED@) flag=$word ;;
            esac
        elif ((args == 0)) && _rillwood_known "$command${command:+ }$word"; then
            command="$command${command:+ }$word"
        else
            args=$((args + 1))
        fi
    done
    [[ $cur == = ]] && cur=
    # What was typed with quotes or backslashes is a plain name here.
    cur=${cur#[\"\']}
    cur=${cur//\\/}
    if [[ -n $flag ]]; then
        _rillwood_value "$command" "$flag"
    elif [[ -z $only_args && $cur == -* ]]; then
        _rillwood_flags "$command"
    else
        _rillwood_value "$command" $((args + 1))
    fi
}
`

// bashScript completes in bash.
func bashScript(app *completed) string {
	var b strings.Builder
	b.WriteString(strings.Replace(bashHead, "@VALUED@", strings.Join(app.valued, " | "), 1))

	b.WriteString("\n# _rillwood_known PATH: whether that is a command.\n_rillwood_known() {\n    case $1 in\n    ")
	for i, c := range app.commands[1:] {
		if i > 0 {
			b.WriteString(" | ")
		}
		b.WriteString(quoted(c.path))
	}
	b.WriteString(") return 0 ;;\n    esac\n    return 1\n}\n")

	b.WriteString("\n_rillwood_flags() {\n    case $1 in\n")
	for _, c := range app.commands {
		fmt.Fprintf(&b, "    %s) _rillwood_offer", quoted(c.path))
		for _, f := range c.flags {
			b.WriteString(" " + f.long)
			if f.short != "" {
				b.WriteString(" " + f.short)
			}
		}
		b.WriteString(" ;;\n")
	}
	b.WriteString("    esac\n}\n")

	b.WriteString("\n# _rillwood_value PATH WHICH: the value of a flag, or the argument of a number.\n_rillwood_value() {\n    case \"$1:$2\" in\n")
	for _, c := range app.commands {
		if len(c.subs) > 0 {
			b.WriteString("    " + quoted(c.path+":1") + ") _rillwood_offer")
			for _, s := range c.subs {
				b.WriteString(" " + s[0])
			}
			b.WriteString(" ;;\n")
		}
		for _, f := range c.flags {
			names := quoted(c.path + ":" + f.long)
			if f.short != "" {
				names += " | " + quoted(c.path+":"+f.short)
			}
			bashValue(&b, names, f.value)
		}
		for i, v := range c.args {
			name := quoted(fmt.Sprintf("%s:%d", c.path, i+1))
			if c.many && i == len(c.args)-1 {
				name = quoted(c.path+":") + "[0-9]*"
			}
			bashValue(&b, name, v)
		}
	}
	b.WriteString("    esac\n}\n\ncomplete -F _rillwood rillwood\n")
	return b.String()
}

// bashValue writes the case of one value.
func bashValue(b *strings.Builder, names string, v completedValue) {
	if v.none() {
		return
	}
	var do []string
	if len(v.words) > 0 {
		do = append(do, "_rillwood_offer "+strings.Join(v.words, " "))
	}
	if v.folders || len(v.endings) > 0 {
		do = append(do, strings.TrimSpace("_rillwood_files "+strings.Join(v.endings, " ")))
	}
	fmt.Fprintf(b, "    %s) %s ;;\n", names, strings.Join(do, "; "))
}
