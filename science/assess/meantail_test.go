package assess

import (
	"math"
	"math/rand/v2"
	"testing"

	"knownwater/internal/madeup"
)

// Three or four readings that gave one answer say no more of how a level scatters than one does, and its mean's limits leave out as
// little as of one; five answers alike and different ones leave out what all do.
func TestFewAnswersAlikeLeaveMore(t *testing.T) {
	for _, n := range []int{3, 4, 5} {
		d := madeup.Of("card", madeup.Card, madeup.Levels, n, nil, madeup.Growing(0.3, 0.04), madeup.OnTiles(madeup.Card))
		alike, others := 0, 0
		for run := range uint64(3) {
			tr := d.Trial(rand.New(rand.NewPCG(9, run)), "nitrate", nil)
			s := split(tr)[0]
			st := &study{strand: s, design: newDesign(s, Options{}), needs: tr.Needs, scale: tr.Scale}
			st.start()
			st.fit()
			st.levelFindings()
			for i, l := range st.finding.Levels {
				g := st.groupAt(i)
				gr, want := st.groups[g], 0.025
				if gr.openAbove {
					continue
				}
				if few := gr.oneInterval && n < 5; few {
					want, alike = 0.0125, alike+1
				} else {
					others++
				}
				_, high := limits(st.post.Wide.Mean[g], want, 0, math.Inf(1))
				if gr.oneInterval {
					high = math.Max(high, gr.interval[1])
				}
				if high = math.Max(high, st.post.Own[g].MeanHigh); math.Abs(float64(l.MeanHigh)-high) > 1e-9*high {
					t.Errorf("%d readings of %g, one answer %v: the mean is %g at most, expected %g", n, l.Level, gr.oneInterval, float64(l.MeanHigh), high)
				}
			}
		}
		if alike == 0 && n < 5 || others == 0 {
			t.Errorf("%d readings: %d levels of one answer, %d others", n, alike, others)
		}
	}
}
