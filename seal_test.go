package knownwater

import (
	"strings"
	"testing"
)

// The commitment by hand: printf 'knownwater seal 1\nab\ncd\n[]\n' | sha256sum
func TestCommit(t *testing.T) {
	const want = "b5d27ab527145feeac84d47cbddb3b3b17c813458e6d98ff24e8926c61b14d5f"
	if got := Commit("ab", "cd", "[]"); got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if g := Grouped(want); strings.ReplaceAll(g, " ", "") != want || len(g) != 71 {
		t.Errorf("grouped as %q", g)
	}
}

func TestSealCheck(t *testing.T) {
	salt := strings.Repeat("0a", 32)
	key := `[{"order":1,"code":"A","session":1,"method":"Card","version":1,"known":"K","level":5,"role":"level","technique":"","dilution":1}]`
	s := Seal{Commitment: Commit(salt, "p", key), Salt: salt, Plan: "p", Key: key}
	whole := Observation{Vial: "A", Method: "Card", Level: 5}
	if fs := s.Verify(Trial{Observations: []Observation{whole}}); len(fs) > 0 {
		t.Error(fs)
	}
	for name, c := range map[string]struct {
		s    Seal
		o    Observation
		says string
	}{
		"another key":        {Seal{s.Commitment, s.Salt, s.Plan, strings.Replace(key, `"level":5`, `"level":6`, 1)}, whole, "not the one that was sealed"},
		"another salt":       {Seal{s.Commitment, strings.Repeat("0b", 32), s.Plan, key}, whole, "not the one that was sealed"},
		"another plan":       {Seal{s.Commitment, s.Salt, "q", key}, whole, "not the one that was sealed"},
		"another commitment": {Seal{Commit(salt, "q", key), s.Salt, s.Plan, key}, whole, "not the one that was sealed"},
		"another level":      {s, Observation{Vial: "A", Method: "Card", Level: 6}, "at level 6: 5, as"},
		"another method":     {s, Observation{Vial: "A", Method: "Drops", Level: 5}, "by “Drops”: “Card”"},
		"another vial":       {s, Observation{Vial: "B", Method: "Card", Level: 5}, "does not hold"},
	} {
		if fs := c.s.Verify(Trial{Observations: []Observation{c.o}}); !strings.Contains(fs.Error(), c.says) {
			t.Errorf("%s: %v, want %s", name, fs, c.says)
		}
	}
	with := Trial{Nitrite: []WithNitrite{{Observation: whole, Nitrite: 0.2, UNitrite: 0.01}}}
	if fs := s.Verify(with); !strings.Contains(fs.Error(), "with nitrite 0.2: 0, as") {
		t.Errorf("nitrite that the key does not have: %v", fs)
	}
	key = strings.Replace(key, `"dilution":1`, `"dilution":1,"nitrite":0.2`, 1)
	s = Seal{Commitment: Commit(salt, "p", key), Salt: salt, Plan: "p", Key: key}
	if fs := s.Verify(with); len(fs) > 0 {
		t.Error(fs)
	}
	if fs := s.Verify(Trial{Observations: []Observation{whole}}); !strings.Contains(fs.Error(), "with nitrite 0: 0.2, as") {
		t.Errorf("nitrite that is not said: %v", fs)
	}
}
