package knownwater

import (
	"fmt"
	"regexp"
	"strconv"
)

// RefusalKind says why something was not done, for the status of a page.
type RefusalKind string

// The kinds of refusal.
const (
	NotFound    RefusalKind = "not found"
	NotAllowed  RefusalKind = "not allowed"
	Sealed      RefusalKind = "key sealed"   // needs the key, which is still shut
	WrongState  RefusalKind = "wrong state"  // the trial is not there yet, or past it
	AlreadyRead RefusalKind = "already read" // this reader has read this vial: correct it instead
	TooMany     RefusalKind = "too many"     // too many tries: wait
	InUse       RefusalKind = "in use"       // another process has the bench open
	Newer       RefusalKind = "newer file"   // made by a newer program
	Damaged     RefusalKind = "damaged file"
	Full        RefusalKind = "disk full"
	ReadOnly    RefusalKind = "read-only file"
	TooLarge    RefusalKind = "too large"
)

// Refusal is something that cannot be done now, in words fit for a page. It is
// neither a fault in what was typed nor an error of ours.
type Refusal struct {
	Kind  RefusalKind
	Words string

	form  string // the words with {1}, {2} … in the places of their parts; empty: there are none
	parts []string
}

// Refuse makes a Refusal.
func Refuse(k RefusalKind, words string, args ...any) *Refusal {
	r := &Refusal{Kind: k, Words: fmt.Sprintf(words, args...)}
	if len(args) > 0 {
		r.form = verb.ReplaceAllStringFunc(words, func(v string) string {
			if i := len(r.parts); i < len(args) {
				r.parts = append(r.parts, fmt.Sprintf(v, args[i]))
			}
			return "{" + strconv.Itoa(len(r.parts)) + "}"
		})
	}
	return r
}

var verb = regexp.MustCompile(`%[.\d]*[a-z]`)

// Say is the refusal as say has it in another language: its words with the parts in their places.
func (r *Refusal) Say(say func(form string, parts ...string) string) string {
	if r.form == "" {
		return say(r.Words)
	}
	return say(r.form, r.parts...)
}

func (r *Refusal) Error() string { return r.Words }

// Is lets errors.Is compare by kind: errors.Is(err, &Refusal{Kind: Sealed}).
func (r *Refusal) Is(target error) bool {
	t, ok := target.(*Refusal)
	return ok && t.Kind == r.Kind && t.Words == ""
}
