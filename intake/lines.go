package intake

import (
	"bytes"
	"hash/maphash"
)

// lines remembers which group the lines of a table made, so that a line that
// stood before costs a look and no cutting. A large file of readings has few
// different ones; where it has many, nothing is remembered any more.
type lines struct {
	seed  maphash.Seed
	table []line // open addressing, a power of two
	text  []byte // of all lines that are remembered
	n     int
	asked int
	found int
	off   bool
	group int // of the line that was known last
}

type line struct {
	hash     uint64
	from, to uint32
	group    int32 // +1; 0: a free place
}

// mostLines and mostLineText bound what is remembered; after enoughAsked lines of
// which fewer than a half were known, remembering has not helped.
const mostLines, mostLineText, enoughAsked = 1 << 16, 8 << 20, 1 << 14

func newLines() *lines {
	return &lines{seed: maphash.MakeSeed(), table: make([]line, 1<<12)}
}

// knows says whether a line stood before, and leaves its group in group.
func (l *lines) knows(text []byte) bool {
	if l.off {
		return false
	}
	hash := maphash.Bytes(l.seed, text)
	l.asked++
	mask := uint64(len(l.table) - 1)
	for i := hash & mask; ; i = (i + 1) & mask {
		e := &l.table[i]
		if e.group == 0 {
			return false
		}
		if e.hash == hash && bytes.Equal(l.text[e.from:e.to], text) {
			l.found++
			l.group = int(e.group - 1)
			return true
		}
	}
}

// remember notes the group of a line that is not known.
func (l *lines) remember(text []byte, group int) {
	if l.asked >= enoughAsked && l.found < l.asked/2 {
		l.off = true
		l.table, l.text = make([]line, 1), nil
	}
	if l.off || l.n >= mostLines || len(l.text)+len(text) > mostLineText {
		return
	}
	if 2*l.n >= len(l.table) {
		old := l.table
		l.table = make([]line, 4*len(old))
		for _, e := range old {
			if e.group != 0 {
				l.put(e)
			}
		}
	}
	from := len(l.text)
	l.text = append(l.text, text...)
	l.put(line{maphash.Bytes(l.seed, text), uint32(from), uint32(len(l.text)), int32(group + 1)})
	l.n++
}

func (l *lines) put(e line) {
	mask := uint64(len(l.table) - 1)
	i := e.hash & mask
	for l.table[i].group != 0 {
		i = (i + 1) & mask
	}
	l.table[i] = e
}

// forget drops everything, as when groups get other numbers.
func (l *lines) forget() {
	clear(l.table)
	l.text, l.n = l.text[:0], 0
}
