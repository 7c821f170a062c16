package main

import (
	"math"
	"testing"

	"knownwater/science/assess"
)

// These are the tables of docs/accuracy.md with few trials: the bounds are the
// promised ones, widened by what so few trials can stray (three binomial
// standard errors). They are seeded, so they cannot fail by chance tomorrow.

func bound(promised, n float64) float64 {
	return 3 * math.Sqrt(promised*(1-promised)/n)
}

func TestLevelCoverage(t *testing.T) {
	const runs = 12
	for i, d := range levelDesigns() {
		r := tryLevels(d, i, runs)
		sum := 0.0
		for _, c := range r.mean {
			sum += c / float64(len(r.mean))
		}
		// Levels of one trial share a spread, so they are not all independent: count half.
		n := float64(runs*len(r.mean)) / 2
		if low := 0.93 - bound(0.93, n); sum < low {
			t.Errorf("%s: means covered in %.1f %%, promised 93 and at least %.1f here", d.name, 100*sum, 100*low)
		}
		// Nobody says how the spread behaves, nor that there are no slips: three readings a
		// level cost that much. One vial a level says nothing of vials, which costs more.
		widest := 2.0
		if d.vials == 1 {
			widest = 4.2
		}
		if d.method.Kind == "display" && r.width > widest {
			t.Errorf("%s: intervals %.2f times as wide as with known spread", d.name, r.width)
		}
	}
}

func TestDemoTruth(t *testing.T) {
	all := tryDemo(3)["all"]
	if all.in < 0.88*all.all {
		t.Errorf("%.0f of %.0f printed intervals hold the truth", all.in, all.all)
	}
}

// A need that single results clearly meet or clearly miss is never called the
// other; one right on the border is rarely called either.
func TestNeedVerdicts(t *testing.T) {
	const runs = 20
	for i, d := range needDesigns() {
		count := tryNeeds(d, i, runs)
		k := d.ratio
		if k < 0.9 && count[assess.NotFit] > 0 || k > 1.2 && count[assess.Fit] > 0 {
			t.Errorf("error at %.2f of the permitted: %v", k, count)
		}
		if wrong := float64(count[wrongVerdict(k)]); wrong > runs*(0.05+bound(0.05, runs)) {
			t.Errorf("error at %.2f of the permitted: %v wrong of %d", k, wrong, runs)
		}
	}
}

func TestLimitRates(t *testing.T) {
	const runs = 60
	d := limitDesigns()[0]
	r := tryLimits(d, 0, runs)
	for name, p := range map[string]float64{"false alarms": r.alarm, "misses": r.miss} {
		if p < 0.02 || p > 0.09 {
			t.Errorf("%s: %.1f %%, promised 5", name, 100*p)
		}
	}
}

func TestStepRates(t *testing.T) {
	for _, row := range tryApart(limitDesigns()[2], 2, 40) {
		if row.same < 0.93 || row.same > 0.975 || row.other < 0.93 {
			t.Errorf("from %v: right order in %.1f %% (same reader), %.1f %% (other), promised 95", row.from, 100*row.same, 100*row.other)
		}
	}
}

// The sets of later readings hold the water, of somebody of the trial and of anybody,
// one reading and three: all levels of a row together.
func TestLaterReadings(t *testing.T) {
	const runs = 12
	designs := readingDesigns()
	for _, i := range []int{1, 3} {
		d := designs[i]
		for j, r := range d.tryReading(i, runs) {
			sum := 0.0
			for _, h := range r.held {
				sum += h / float64(len(r.held))
			}
			n := float64(runs*len(r.held)) / 2 // levels of one trial share its spread
			if sum < 0.93-bound(0.93, n) {
				t.Errorf("%s, %+v: %.1f %% of sets hold the water", d.name, d.readingCases()[j], 100*sum)
			}
			for k, w := range r.wide {
				if w > 2 {
					t.Errorf("%s, %+v at %g: %.2f times as wide as of somebody who knew everything", d.name, d.readingCases()[j], d.levels[k], w)
				}
			}
		}
	}
}
