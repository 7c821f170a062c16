package knownwater

import "testing"

func TestPlain(t *testing.T) {
	for in, want := range map[string]string{
		"Überlänge 5 µmol": "Überlänge 5 µmol",
		"\x1b[2Jgone":      `\u001b[2Jgone`,
		"a\nb\tc":          `a\u000ab\u0009c`,
		"\u202egnp.exe":    `\u202egnp.exe`,
		"in\u200bvisible":  `in\u200bvisible`,
		"\u009b1m":         `\u009b1m`,
		"\xff\xfe":         `\xff\xfe`,
		"\U000e0041":       `\udb40\udc41`,
		"\u2028":           `\u2028`,
	} {
		if got := Plain(in); got != want {
			t.Errorf("%q printed as %q, want %q", in, got, want)
		}
	}
}
