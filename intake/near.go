package intake

import "strings"

// longestWord is how long no word is that anybody misspells.
const longestWord = 40

// near is the word among known that somebody may have meant who wrote another: one that begins
// alike, or with at most a letter in four wrong, missing, too many or exchanged with its
// neighbour (Damerau, Communications of the ACM 7 (1964) 171–176, from memory). "" where none is.
func near(word string, known []string) string {
	if len(word) > longestWord {
		return ""
	}
	best, least := "", 1+len(word)/4
	for _, k := range known {
		if d := slipsBetween(strings.ToLower(word), k); d < least || d == least && best == "" {
			best, least = k, d
		}
	}
	if best != "" || len(word) < 4 {
		return best
	}
	for _, k := range known {
		if strings.HasPrefix(k, word) || strings.HasPrefix(word, k) && len(k) > 3 {
			return k
		}
	}
	return ""
}

// slipsBetween is how many slips of the pen lie between two words.
func slipsBetween(a, b string) int {
	row := make([][]int, len(a)+1)
	for i := range row {
		row[i] = make([]int, len(b)+1)
		row[i][0] = i
		for j := 1; j <= len(b); j++ {
			if i == 0 {
				row[0][j] = j
				continue
			}
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			row[i][j] = min(row[i-1][j]+1, row[i][j-1]+1, row[i-1][j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[i][j] = min(row[i][j], row[i-2][j-2]+1)
			}
		}
	}
	return row[len(a)][len(b)]
}
