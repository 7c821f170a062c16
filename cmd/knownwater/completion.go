package main

import (
	"fmt"
	"strings"

	"github.com/alecthomas/kong"
)

// completionCmd prints a shell's completion. The shells know nothing of the command
// line: they hand what was typed so far to the program, which is asked anew at every
// press, so that a newer program needs no newer script.
type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"bash, zsh or fish."`
}

// The scripts call "knownwater complete -- WORDS…"; the last word is the one being
// typed. A line :files in the answer stands for the names of files.
var completions = map[string]string{
	"bash": `# Lets bash complete knownwater: in ~/.bashrc
#     source <(knownwater completion bash)
_knownwater() {
    local line now=${COMP_WORDS[COMP_CWORD]}
    COMPREPLY=()
    [ "$now" = "=" ] && now=
    while IFS= read -r line; do
        if [ "$line" = ":files" ]; then
            compopt -o filenames 2>/dev/null
            while IFS= read -r line; do COMPREPLY+=("$line"); done < <(compgen -f -- "$now")
        else
            COMPREPLY+=("$line")
        fi
    done < <("${COMP_WORDS[0]}" complete -- "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null)
}
complete -F _knownwater knownwater
`,
	"zsh": `#compdef knownwater
# Lets zsh complete knownwater: in ~/.zshrc, after compinit,
#     source <(knownwater completion zsh)
_knownwater() {
    local -a answers
    answers=("${(@f)$(${words[1]} complete -- "${(@)words[2,CURRENT]}" 2>/dev/null)}")
    if [[ ${answers[(I):files]} -gt 0 ]]; then
        compset -P '--*='
        _files
    elif [[ -n ${answers[1]} ]]; then
        compadd -- "${answers[@]}"
    fi
}
compdef _knownwater knownwater
`,
	"fish": `# Lets fish complete knownwater: in ~/.config/fish/config.fish
#     knownwater completion fish | source
function __knownwater_complete
    set -l words (commandline -opc)
    set -l now (commandline -ct)
    for line in ($words[1] complete -- $words[2..-1] "$now" 2>/dev/null)
        if test "$line" = ":files"
            set -l flag (string match -r -- '^--[^=]+=' "$now")
            for file in (__fish_complete_path (string replace -r -- '^--[^=]+=' '' "$now"))
                echo "$flag$file"
            end
        else
            echo $line
        end
    end
end
complete -c knownwater -f -a '(__knownwater_complete)'
`,
}

func (c *completionCmd) Run(e *env) error {
	_, err := fmt.Fprint(e.out, completions[c.Shell])
	return err
}

// completeCmd answers a shell.
type completeCmd struct {
	Words []string `arg:"" optional:"" passthrough:""`
}

func (c *completeCmd) Run(e *env) error {
	words := c.Words
	if len(words) > 0 && words[0] == "--" {
		words = words[1:]
	}
	for _, line := range completed(e.parser.Model.Node, words) {
		fmt.Fprintln(e.out, line)
	}
	return nil
}

// completed are the words that may stand in the place of the last one.
func completed(at *kong.Node, words []string) (out []string) {
	now := ""
	if len(words) > 0 {
		now = words[len(words)-1]
		words = words[:len(words)-1]
	}
	position := 0
	var waits *kong.Flag // for its value
	for _, w := range words {
		switch child := childOf(at, w); {
		case w == "=": // bash parts --flag=value so
		case waits != nil:
			waits = nil
		case strings.HasPrefix(w, "-"):
			name, _, valued := strings.Cut(w, "=")
			if f := flagOf(at, name); f != nil && !f.IsBool() && !valued {
				waits = f
			}
		case child != nil:
			at, position = child, 0
		default:
			position++
		}
	}
	if now == "=" {
		now = ""
	}
	name, value, valued := strings.Cut(now, "=")
	switch {
	case waits != nil:
		return valuesOf(waits.Value, "", now)
	case strings.HasPrefix(now, "-") && valued:
		if f := flagOf(at, name); f != nil {
			return valuesOf(f.Value, name+"=", value)
		}
		return nil
	case strings.HasPrefix(now, "-"):
		for n := at; n != nil; n = n.Parent {
			for _, f := range n.Flags {
				if word := "--" + f.Name; !f.Hidden && strings.HasPrefix(word, now) {
					out = append(out, word)
				}
			}
		}
		return out
	case len(at.Children) > 0:
		for _, n := range at.Children {
			if !n.Hidden && strings.HasPrefix(n.Name, now) {
				out = append(out, n.Name)
			}
		}
		return out
	}
	for i, p := range at.Positional {
		if i == position || p.IsCumulative() && i < position {
			return valuesOf(p, "", now)
		}
	}
	return nil
}

func childOf(at *kong.Node, name string) *kong.Node {
	for _, n := range at.Children {
		if n.Name == name && !n.Hidden {
			return n
		}
	}
	return nil
}

func flagOf(at *kong.Node, word string) *kong.Flag {
	for n := at; n != nil; n = n.Parent {
		for _, f := range n.Flags {
			if word == "--"+f.Name {
				return f
			}
		}
	}
	return nil
}

// valuesOf are what a flag or an argument may be: words of a list, or files.
func valuesOf(v *kong.Value, before, now string) (out []string) {
	switch {
	case v.Tag.Type == "file" || v.Tag.Type == "bench":
		return []string{":files"}
	case v.Enum != "":
		for _, word := range v.EnumSlice() {
			if strings.HasPrefix(word, now) {
				out = append(out, before+word)
			}
		}
	}
	return out
}
