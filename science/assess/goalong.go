package assess

import (
	"math"

	"knownwater/science/note"
	"knownwater/science/posterior"
)

// What people, sessions and lots differ by goes along with the repeatability, or with something else
// (posterior.Factor.Along): then it is another part of it at every place.

// waysOfParts says of the sources whose effects do not go along with the repeatability what they go along with.
func (st *study) waysOfParts() {
	if st.post == nil || !st.post.Wide.Flat() {
		return
	}
	for _, src := range sources {
		f, ok := st.factor[src.name]
		if !ok {
			continue
		}
		switch st.post.Wide.Way[f] {
		case posterior.WithNothing:
			st.note(note.New("part-even").Name("part", src.name))
		case posterior.WithRoot:
			st.note(note.New("part-by-root").Name("part", src.name))
		case posterior.WithLevel:
			st.note(note.New("part-by-share").Name("part", src.name))
		}
	}
}

// over is by what effects of a factor and its τ are multiplied at a place, to be in repeatabilities there.
func (at between) over(d *posterior.Draws, f, k int) float64 {
	if !d.Flat() || d.Along[f] == nil {
		return 1
	}
	h := d.Along[f]
	return (h[at.a] + at.t*(h[at.b]-h[at.a])) / at.repeatability(d, k)
}

// part is a factor's standard deviation there in draw k, in repeatabilities.
func (at between) part(d *posterior.Draws, f, k int) float64 {
	return d.Ratio[f][k] * at.over(d, f, k)
}

// whole is the whole spread of a single reading there in draw k, in repeatabilities.
func (at between) whole(d *posterior.Draws, k int) float64 {
	if !d.Flat() {
		return d.Whole(k)
	}
	square := 1.0
	for f := range d.Ratio {
		part := at.part(d, f, k)
		square += part * part
	}
	if d.Unseen != nil {
		square += d.Unseen[k] * d.Unseen[k]
	}
	return math.Sqrt(square)
}

// over is that of a source at c, in draw d of the record.
func (st *study) over(source string, d int, c float64) float64 {
	f, ok := st.factor[source]
	if !ok || st.post == nil || !st.post.Form.Flat() {
		return 1
	}
	return st.along(c).over(st.post.Form, f, st.kept[d])
}
