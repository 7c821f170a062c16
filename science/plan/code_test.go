package plan

import (
	"math/rand/v2"
	"strings"
	"testing"
)

// TestCodesOfEveryPattern goes through all codes of the patterns that can be
// gone through, and checks the rule that code.go states.
func TestCodesOfEveryPattern(t *testing.T) {
	for _, p := range codePatterns[:3] {
		room := capacity(p)
		all := map[string]bool{}
		for k := range room {
			all[code(p, k)] = true
		}
		if len(all) != room {
			t.Fatalf("%s: %d codes, want %d", p, len(all), room)
		}
		for c := range all {
			for _, n := range oneSymbolAway(c) {
				if all[n] {
					t.Fatalf("%s: %s and %s differ in one symbol", p, c, n)
				}
			}
			for i := range len(c) {
				for j := range i {
					if x := exchanged(c, i, j); x != c && all[x] {
						t.Fatalf("%s: %s becomes %s by exchanging two symbols", p, c, x)
					}
				}
			}
		}
	}
}

func oneSymbolAway(c string) []string {
	var out []string
	for i := range len(c) {
		for _, s := range codeLetters + codeDigits {
			if byte(s) != c[i] {
				out = append(out, c[:i]+string(s)+c[i+1:])
			}
		}
	}
	return out
}

func exchanged(c string, i, j int) string {
	b := []byte(c)
	b[i], b[j] = b[j], b[i]
	return string(b)
}

// TestSymbolsAreNotAlike holds the alphabet against the sets that sound or look
// alike; the sets are of English letter and digit names and of plain printed
// shapes (common knowledge, no source).
func TestSymbolsAreNotAlike(t *testing.T) {
	for _, set := range []string{
		"BCDEGPTVZ3", "AJK8", "FLMNSX", "IY59", "QUW2", // sound
		"O0QD", "I1L7", "S5", "Z2", "B8", "G6", "MW", "UV", "69", "38", // look
	} {
		letters, digits := 0, 0
		for _, c := range set {
			letters += strings.Count(codeLetters, string(c))
			digits += strings.Count(codeDigits, string(c))
		}
		// A letter and a digit never stand at the same place, so only two of a kind count.
		if letters > 1 || digits > 1 {
			t.Errorf("of %s, the alphabet has %d letters and %d digits", set, letters, digits)
		}
	}
}

func TestCodes(t *testing.T) {
	for _, n := range []int{0, 1, 35, 36, 245, 246, 1225, 1226, 5000} {
		codes, err := Codes(n, rand.New(rand.NewPCG(1, 2)))
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for _, c := range codes {
			if seen[c] {
				t.Fatalf("code %s twice", c)
			}
			seen[c] = true
			if len(c) != len(codes[0]) {
				t.Fatalf("codes of two lengths: %s and %s", c, codes[0])
			}
		}
		if len(codes) != n {
			t.Errorf("%d codes, want %d", len(codes), n)
		}
	}
	for _, n := range []int{-1, MostCodes + 1} {
		if _, err := Codes(n, rand.New(rand.NewPCG(1, 2))); err == nil {
			t.Errorf("%d codes: no error", n)
		}
	}
}

func TestCodesComeFromTheSeed(t *testing.T) {
	draw := func(seed uint64) string {
		codes, _ := Codes(20, rand.New(rand.NewPCG(seed, 0)))
		return strings.Join(codes, " ")
	}
	one, again, other := draw(1), draw(1), draw(2)
	if one != again || one == other {
		t.Error("codes do not follow from the seed")
	}
}
