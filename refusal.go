package knownwater

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

	words placed
}

// Refuse makes a Refusal.
func Refuse(k RefusalKind, words string, args ...any) *Refusal {
	r := &Refusal{Kind: k}
	r.Words, r.words = placing(words, args)
	return r
}

// Say is the refusal as say has it in another language: its words with the parts in their places.
func (r *Refusal) Say(say func(form string, parts ...string) string) string {
	return r.words.said(r.Words, say)
}

func (r *Refusal) Error() string { return r.Words }

// Is lets errors.Is compare by kind: errors.Is(err, &Refusal{Kind: Sealed}).
func (r *Refusal) Is(target error) bool {
	t, ok := target.(*Refusal)
	return ok && t.Kind == r.Kind && t.Words == ""
}
