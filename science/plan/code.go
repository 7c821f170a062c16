package plan

import (
	"fmt"
	"math/rand/v2"
)

// Blind codes are read off a wet label, called across a table and typed with a
// thumb, so they are made for the eye and the ear.
//
// Symbols. Letters stand at fixed places and digits at others, so a letter is
// never mistaken for a digit. Of every set of letters whose English names sound
// alike (B C D E G P T V Z; A J K; F L M N S X; I Y; Q U) at most one is used,
// and none that looks like a digit or like another letter, also upside down
// (O 0, I L 1, M W). Of the digits, 0 1 5 8 9 are left out: they look like a
// letter, like another digit upside down (6 9), or sound alike (5 9).
//
// Words. The last letter is a check: the sum of the others, each times its
// place's weight, modulo 7. So any two codes differ in at least two places, and
// exchanging two letters of a code, or two digits, never gives another code.
const (
	codeLetters = "FHKRTWY"
	codeDigits  = "23467"
	codeModulus = 7 // the number of letters
)

// codePatterns are the shapes of codes, shortest first; the last place checks.
var codePatterns = []string{"LDL", "LDLL", "LDLDL", "LDLDLDL"}

// codeWeights of the places: none is 0 (each place counts), no two are alike
// (exchanges are seen), none is 6 = −1 (an exchange with the check letter is
// seen). Letters and digits never change places, so they may share weights.
var (
	letterWeights = []int{1, 2, 3, 4}
	digitWeights  = []int{1, 2, 3}
)

// MostCodes is how many codes one trial can have.
const MostCodes = 7 * 5 * 7 * 5 * 7 * 5

// Codes gives n codes of the shortest length that has enough, drawn at random.
func Codes(n int, rng *rand.Rand) ([]string, error) {
	if n < 0 || n > MostCodes {
		return nil, fmt.Errorf("%d vials: a trial can have at most %d", n, MostCodes)
	}
	for _, p := range codePatterns {
		room := capacity(p)
		if room < n {
			continue
		}
		codes := make([]string, n)
		for i, k := range rng.Perm(room)[:n] {
			codes[i] = code(p, k)
		}
		return codes, nil
	}
	return nil, fmt.Errorf("no code is long enough for %d vials", n) // MostCodes is the last pattern's room
}

// capacity is how many codes a pattern has: its free places' choices.
func capacity(pattern string) int {
	n := 1
	for _, c := range pattern[:len(pattern)-1] {
		n *= len(symbols(c))
	}
	return n
}

func symbols(place rune) string {
	if place == 'L' {
		return codeLetters
	}
	return codeDigits
}

// code is the k-th code of a pattern.
func code(pattern string, k int) string {
	var out []byte
	sum, letters, digits := 0, 0, 0
	for _, c := range pattern[:len(pattern)-1] {
		s := symbols(c)
		i := k % len(s)
		k /= len(s)
		out = append(out, s[i])
		if c == 'L' {
			sum += letterWeights[letters] * i
			letters++
		} else {
			sum += digitWeights[digits] * i
			digits++
		}
	}
	return string(append(out, codeLetters[sum%codeModulus]))
}
