package assess

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/doubt"
	"knownwater/science/note"
	"knownwater/science/reading"
)

// sharesTried are the sharings of a chart's gaps between "at" and "between"
// that are looked at beside the stated one, which keeps half of the weight.
var sharesTried = []float64{0.04, 0.09, 0.14, 0.19, 0.24, 0.29, 0.34, 0.39, 0.44, 0.48}

// findShares lists the sharings that every reading can be understood under, the
// stated one first, with what they count beforehand: stated or not, half for
// what is stated (0.25 where nothing is), half evenly for the others; every second of these where few are asked for.
func (d *design) findShares(s strand, o Options) {
	if !reading.Of(s.method.Kind).Has("at_share") {
		return
	}
	stated := reading.AtShare(s.method)
	d.shares = []float64{stated}
	for i, share := range sharesTried {
		if o.Few && i%2 == 1 {
			continue
		}
		if math.Abs(share-stated) > 0.02 && understood(s, share) {
			d.shares = append(d.shares, share)
		}
	}
	if len(d.shares) == 1 {
		return
	}
	for i := range d.shares {
		w := 0.5
		if i > 0 {
			w = 0.5 / float64(len(d.shares)-1)
		}
		d.data.Shares = append(d.data.Shares, w)
	}
}

func understood(s strand, share float64) bool {
	s.method.AtShare = share
	done := map[string]bool{}
	for _, o := range s.obs {
		if done[o.Text] {
			continue
		}
		done[o.Text] = true
		if _, err := reading.Understand(o.Text, s.method); err != nil {
			return false
		}
	}
	return true
}

// seenAs is what a reading means under every sharing that is tried.
func (d *design) seenAs(s strand, o knownwater.Observation) [][2]float64 {
	on := o.On()
	seen := [][2]float64{{on.Low, on.High}}
	if len(d.data.Shares) < 2 {
		return seen
	}
	if d.understood == nil {
		d.understood = map[string][][2]float64{}
	}
	if known, ok := d.understood[o.Text]; ok {
		return known
	}
	for _, share := range d.shares[1:] {
		s.method.AtShare = share
		if i, err := reading.Understand(o.Text, s.method); err == nil {
			i = i.Scale(o.Dilution)
			seen = append(seen, [2]float64{i.Low, i.High})
		} else { // cannot be: findShares tried it
			seen = append(seen, seen[0])
		}
	}
	d.understood[o.Text] = seen
	return seen
}

// askShares asks about the sharing where the readings speak against the stated
// one: where it keeps less than a hundredth of the weight and the likeliest is far off.
func askShares(studies []*study) []doubt.Question {
	var qs []doubt.Question
	for _, st := range studies {
		if st.post == nil || len(st.shares) < 2 || st.post.Share[0] >= shareDoubt {
			continue
		}
		best := 1
		for i := range st.shares {
			if st.post.Share[i] > st.post.Share[best] {
				best = i
			}
		}
		if math.Abs(st.shares[best]-st.shares[0]) < shareFar {
			continue
		}
		var levels []float64
		for _, l := range st.levels {
			levels = append(levels, l.value)
		}
		qs = append(qs, doubt.Question{Kind: doubt.OfShare, Method: st.method.Name, At: doubt.PlacesOf(st.obs), Matrix: st.matrix, Mends: []doubt.Mend{withShare(st.method.Name, st.shares[best])},
			Says: note.New("ask-share").Number("stated", st.shares[0]).Number("share", st.shares[best]).Number("level", levels...)})
	}
	return qs
}

// shareDoubt is the weight below which the stated sharing is asked about, shareFar
// how far off the likeliest one has to be: nearer ones are within what people mean.
const (
	shareDoubt = 0.01
	shareFar   = 0.1
)

// withShare is the trial with a chart read under another sharing of its gaps.
func withShare(method string, share float64) doubt.Mend {
	return func(t knownwater.Trial) knownwater.Trial {
		t.Methods, t.Observations = slices.Clone(t.Methods), slices.Clone(t.Observations)
		for i, m := range t.Methods {
			if m.Name != method {
				continue
			}
			m.AtShare = share
			t.Methods[i] = m
			for k := range t.Observations {
				o := &t.Observations[k]
				if o.Method != method {
					continue
				}
				if seen, err := reading.Understand(o.Text, m); err == nil {
					o.Seen = seen
				}
			}
		}
		return t
	}
}
