package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/alecthomas/kong"

	"knownwater"
	"knownwater/docs"
	"knownwater/report"
)

// helpCmd is the manual on a terminal.
type helpCmd struct {
	Word []string `arg:"" optional:"" help:"A topic of the manual, a term, a column or key of a file, a field of a form, the code of a note, or a command. None: the list of topics."`
}

func (c *helpCmd) Run(e *env) error {
	word := strings.Join(c.Word, " ")
	if word == "" {
		return listTopics(e)
	}
	at, found := docs.Find(word)
	if node := commandOf(e.parser, strings.Fields(word)); node != nil {
		fmt.Fprintf(e.out, "knownwater %s: %s\nIts flags: knownwater %[1]s --help\n", word, node.Help)
		if at, found = docs.Find(topicOf(word)); !found {
			return nil
		}
		fmt.Fprintln(e.out)
	}
	if found {
		_, err := fmt.Fprint(e.out, at.Text(e.width, e.style.bold))
		return err
	}
	if says, ok := report.SaysOf(word); ok {
		_, err := fmt.Fprintf(e.out, "“%s” is the code of a note beside findings or results. With its numbers in place of each …, it says:\n\n    %s\n", word, says)
		return err
	}
	return knownwater.Fault{Found: "nothing on %q", Want: "a topic of knownwater help, a term, a column, a key, a field or a command"}.Of(word)
}

func listTopics(e *env) error {
	group := ""
	for _, t := range docs.Topics() {
		if t.Group != group {
			group = t.Group
			fmt.Fprintf(e.out, "\n%s\n", e.style.bold(group))
		}
		fmt.Fprintf(e.out, "  %-20s  %s\n", t.Name, t.Title)
	}
	_, err := fmt.Fprint(e.out, "\nknownwater help TOPIC prints one. TOPIC may also be a term (detection limit), a column or key of a file (u_level), or a command.\n")
	return err
}

func commandOf(parser *kong.Kong, words []string) *kong.Node {
	at := parser.Model.Node
	for _, w := range words {
		if at = childOf(at, w); at == nil {
			return nil
		}
	}
	return at
}

// topics are where the manual tells of a command, by the longest beginning of its words.
var topics = map[string]string{
	"assess": "formats", "forecast": "plan", "read": "read", "history": "history", "experiment": "experiment", "recheck": "publish", "sign": "publish", "key": "publish",
	"known": "standards", "curve": "curve", "curve matrix": "formats-curves", "serve": "phones", "backup": "backup", "restore": "backup", "export": "backup", "import": "backup",
	"demo": "tutorial", "samples": "curve", "choose": "choose", "pack": "publish", "agree": "publish", "version": "formats#streams-and-several-files", "completion": "formats#streams-and-several-files", "help": "glossary", "words": "language",
}

func topicOf(command string) string {
	for words := command; words != ""; {
		if t, ok := topics[words]; ok {
			return t
		}
		at := strings.LastIndexByte(words, ' ')
		if at < 0 {
			break
		}
		words = words[:at]
	}
	return ""
}

// pointer says where the manual tells more about faults: at the column or key of the
// first that has a place there, else at the topic of the command.
func pointer(err error, command string) string {
	var faults knownwater.Faults
	var one knownwater.Fault
	if errors.As(err, &one) {
		faults = knownwater.Faults{one}
	} else if !errors.As(err, &faults) {
		return ""
	}
	for _, f := range faults {
		if strings.HasPrefix(f.Column, "--") {
			return "knownwater " + command + " --help"
		}
		words := strings.FieldsFunc(f.Column, func(r rune) bool { return r == ' ' || r == '.' || r == ',' })
		for i := len(words) - 1; i >= 0; i-- {
			if _, ok := docs.Find(words[i]); ok {
				return "knownwater help " + words[i]
			}
		}
	}
	if t := topicOf(command); t != "" {
		return "knownwater help " + t
	}
	return ""
}
