package docstest

import (
	"path/filepath"
	"strings"
	"testing"
)

// docs/statistics.md states what the code does. Where a line of code on the
// left changes, the words on the right have to be looked at again.
func TestStatisticsKeepsStep(t *testing.T) {
	page := strings.Join(strings.Fields(read(t, filepath.Join(root, "docs", "statistics.md"))), " ")
	for _, c := range []struct{ file, code, words string }{
		{"science/posterior/data.go", "-3 / l.telling * math.Log1p(1/r)", "Π (s/(s + w))^(3/G)"},
		{"science/posterior/data.go", "2 / l.telling * math.Log1p(r*r/4)", "Π (1 + (s/2w)²)^(−2/G)"},
		{"science/posterior/integrate.go", "techniqueSD = 0.7", "standard deviation 0.7"},
		{"science/posterior/effects.go", "2*math.Log1p(r*r/3)", "half-t with 3 degrees of freedom"},
		{"science/posterior/sample.go", "const chains = 2", "two chains"},
		{"science/posterior/sample.go", "leastSweeps, roundSweeps, mostSweeps = 500, 250, 2000", "500 to 2,000 sweeps"},
		{"science/posterior/sample.go", "= 0.05\n", "no more than 5 %"},
		{"science/posterior/walk.go", "const batches, tail, about = 20,", "20 batches"},
		{"science/posterior/scatter.go", "Wide: {0.5, 0.2, 0.15, 0.15}, FormFavouring: {0.65, 0.12, 0.05, 0.18}", "normal 0.5, few slips 0.2, more slips 0.15, heavy tails 0.15"},
		{"science/posterior/scatter.go", "[]float64{0.92, 0.04, 0.04}, []float64{1, 6, 30}", "half of them six, half thirty times as wide"},
		{"science/posterior/shape.go", "w*w/(1.2*1.2)", "half-normal, scale 1.2"},
		{"science/posterior/shape.go", "slipFreedom = 0.7", "at most 0.7 for kinds of scatter other than normal"},
		{"science/posterior/shape.go", "pureWeight = 0.7", "constant and proportional 0.7 each"},
		{"science/posterior/shape.go", "{0.55, 0.15}, {0, 0.35, 0.35}", "55 % on ω = 0.08, 15 % on 0.2, the rest up to 0.7 (humps: 35 % each on 0.2 and 0.4"},
		{"science/posterior/shape.go", "leastHumped = 0.4", "at least 0.4 for humps"},
		{"science/posterior/shape.go", "const step = 0.08", "ω = 0.08"},
		{"science/posterior/own.go", "const ownTail = 0.04", "at 4 % and 96 %"},
		{"science/posterior/fit.go", "mostKinds = 1000", "more than a thousand readings"},
		{"science/assess/study.go", "return 0.0125", "1.25 % and 98.75 %"},
		{"science/assess/design.go", "Coarse = reading.Of(s.method.Kind).Coarse\n", "φ on charts"},
		{"science/assess/design.go", `{"reader", 1,`, "scale 1 for readers and vials"},
		{"science/assess/design.go", `{"vial", 1,`, "scale 1 for readers and vials"},
		{"science/assess/design.go", `{"session", 0.5,`, "0.5 for sessions and lots"},
		{"science/assess/design.go", `{"lot", 0.5,`, "0.5 for sessions and lots"},
		{"science/assess/limits.go", "leastLimitsDF = 3", "fewer than 3 degrees of freedom"},
		{"science/assess/limits.go", "quantifiedAt  = 0.10", "within 10 % of the concentration"},
		{"science/assess/limits.go", "falseAlarm    = 0.05", "at most 5 %"},
		{"science/assess/apart.go", "apartDraws  = 48", "averaged over 48 draws"},
		{"science/posterior/fit.go", "wideDraws = 2000", "all 2,000 draws"},
		{"science/assess/needs.go", "range 12 {", "twelve places"},
		{"science/assess/more.go", "promiseTruths = 60", "60 equally likely truths"},
		{"science/assess/more.go", "promiseKept   = 48", "settles 48 of the 60"},
		{"science/assess/more.go", "mostFurther      = 400", "400 tests in all at most"},
		{"science/assess/spread.go", "fewReaders = 5", "fewer than five readers"},
		{"science/assess/shares.go", "shareDoubt = 0.01", "less than 1 % of the weight"},
		{"science/doubt/factors.go", "ownBias   = 0.30", "e^±0.3"},
		{"science/doubt/factors.go", "honestLow, honestHigh = 0.5, 1.5", "Slopes of 0.5 to 1.5"},
		{"science/doubt/factors.go", "priorScatter, priorDF = 0.10, 4", "10 % worth four degrees of freedom"},
		{"science/doubt/rowfactors.go", "rowOff, rowNear = 4, 3", "more than four scatters (six for a unit)"},
		{"science/doubt/swapped.go", "swapOff, partnerOff, swapNear = 5, 2.5, 2.5", "one more than five scatters from its own level, the other more than two and a half"},
		{"science/doubt/rowfactors.go", "leastByLine     = 2.5", "factors from 2.5 up"},
		{"science/doubt/slipped.go", "slipOff = 8", "more than eight scatters"},
		{"science/doubt/scatter.go", "perPair = 1.0483", "1.048 × the median difference"},
		{"science/doubt/scatter.go", "leastShare = 0.05", "5 % at least"},
		{"science/assess/odd.go", "low > 0.03*c", "more than 3 %"},
		{"science/record/response.go", "adequate = 0.05", "not below 5 %"},
		{"science/record/response.go", "doubtful = 0.20", "p below 20 %"},
		{"science/record/response.go", "betterBy = 4", "by more than 4"},
		{"science/response/bent.go", "softness = 0.15", "w = 0.15·b2"},
		{"science/record/record.go", "gridSteps = 120", "121 concentrations"},
		{"science/record/record.go", "mostDraws = 320", "up to 320 draws"},
		{"science/record/turn.go", "outer = 0.025", "≥ 2.5 %"},
		{"knownwater.go", "DefaultAtShare = 0.25", "`at_share` (0.25)"},
	} {
		if !strings.Contains(read(t, filepath.Join(root, c.file)), c.code) {
			t.Errorf("%s no longer holds %q: see whether docs/statistics.md still tells the truth where it says %q", c.file, c.code, c.words)
		}
		if !strings.Contains(page, c.words) {
			t.Errorf("docs/statistics.md no longer says %q, which stands for %q in %s", c.words, c.code, c.file)
		}
	}
}
