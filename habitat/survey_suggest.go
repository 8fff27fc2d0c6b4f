package habitat

import (
	"fmt"
	"strings"
)

// suggest is the tail of a message about an unknown word: the nearest known
// one when it is near enough to be a slip, all of them otherwise.
func suggest(word string, known []string) string {
	best, bestAt := "", 1+max(1, len(word)/3)
	for _, k := range known {
		if d := editDistance(strings.ToLower(word), strings.ToLower(k)); d < bestAt {
			best, bestAt = k, d
		}
	}
	if best != "" {
		return fmt.Sprintf("did you mean %q?", best)
	}
	return "known here: " + strings.Join(known, ", ")
}

// oneOf checks that a word is among the known ones.
func oneOf(path, word string, known ...string) error {
	for _, k := range known {
		if word == k {
			return nil
		}
	}
	return wrong(path, "%q is not known; %s", oneLine(word), suggest(word, known))
}

// editDistance counts the single-character insertions, deletions and
// replacements between a and b, a swap of two neighbours counting once
// (Levenshtein 1966 with the transposition of Damerau 1964).
func editDistance(a, b string) int {
	if len(a) > 64 || len(b) > 64 {
		return 64
	}
	var rows [3][65]int
	for j := range len(b) + 1 {
		rows[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		prev2, prev, cur := &rows[(i+1)%3], &rows[(i-1)%3], &rows[i%3]
		cur[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
	}
	return rows[len(a)%3][len(b)]
}
