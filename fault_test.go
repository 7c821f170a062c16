package knownwater

import (
	"strings"
	"testing"
)

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

// A fault with values is found by its sentence, in a language in which it is said, and is
// English where somebody wrote it anew.
func TestFaultInAnotherLanguage(t *testing.T) {
	german := map[string]string{"a stock of {1} %": "eine Lösung von {1} %", "at most {1}, not {2}": "höchstens {1}, nicht {2}", "a name": "ein Name"}
	say := func(form string, parts ...string) string {
		if s, ok := german[form]; ok {
			form = s
		}
		for i, p := range parts {
			form = strings.ReplaceAll(form, "{"+string(rune('1'+i))+"}", p)
		}
		return form
	}
	f := Fault{Column: "stock", Found: "a stock of %.3g %%", Want: "at most %d, not %q"}.Of(0.12345, 7, "100 %d")
	if got, want := f.Error(), `stock: a stock of 0.123 %: at most 7, not "100 %d"`; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := f.In(say).Error(), `stock: eine Lösung von 0.123 %: höchstens 7, nicht "100 %d"`; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	f.Found = "in line 3: " + f.Found
	if got, want := f.In(say).Found, "in line 3: a stock of 0.123 %"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	plain := Fault{Found: "5 % of it", Want: "a name"}
	if got, want := plain.Of().In(say).Error(), "5 % of it: ein Name"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := Refuse(Full, "a stock of %g %%", 3.).Say(say), "eine Lösung von 3 %"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
