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
		{"science/mixed/moves.go", "widthPower, flatness = 1.5, 0.7", "φ^0.7 · Π (s/(s + w))^1.5"},
		{"science/mixed/moves.go", "math.Log1p(s * s / 4)", "Π 1/(1 + (s/2w)²)"},
		{"science/mixed/moves.go", "balanceSD = 4.5", "standard deviation 4.5"},
		{"science/mixed/moves.go", "techniqueSD = 0.7", "standard deviation 0.7"},
		{"science/mixed/moves.go", "2*math.Log1p(r*r/3)", "half-t with 3 degrees of freedom"},
		{"science/mixed/data.go", "math.Pow(phi/p.Phi[0], -flatness)", "φ^0.7/φ into 1/φ"},
		{"science/assess/design.go", "Coarse = reading.Of(s.method.Kind).Coarse\n", "φ, λ on charts"},
		{"science/mixed/fit.go", "const chains = 2", "two chains"},
		{"science/mixed/fit.go", "const batches = 20", "20 batches"},
		{"science/assess/design.go", `{"reader", 1,`, "scale φ for readers and vials"},
		{"science/assess/design.go", `{"vial", 1,`, "scale φ for readers and vials"},
		{"science/assess/design.go", `{"session", 0.5,`, "0.5·φ for sessions and lots"},
		{"science/assess/design.go", `{"lot", 0.5,`, "0.5·φ for sessions and lots"},
		{"science/assess/limits.go", "leastLimitsDF = 6", "fewer than 6 degrees of freedom"},
		{"science/assess/limits.go", "quantifiedAt  = 0.10", "within 10 % of the concentration"},
		{"science/assess/limits.go", "falseAlarm    = 0.05", "at most 5 %"},
		{"science/assess/apart.go", "apartDraws  = 48", "averaged over 48 draws"},
		{"science/assess/needs.go", "needDraws = 160", "160 draws"},
		{"science/assess/needs.go", "range 12 {", "twelve places"},
		{"science/assess/more.go", "settled > 20", "more than 20 times"},
		{"science/assess/spread.go", "fewReaders = 5", "fewer than five readers"},
		{"science/assess/shares.go", "{0.15, 0.5}", "0.15 and 0.5"},
		{"science/assess/factors.go", "ownBias   = 0.30", "e^±0.3"},
		{"science/assess/factors.go", "honestLow, honestHigh = 0.5, 1.5", "Slopes of 0.5 to 1.5"},
		{"science/assess/factors.go", "priorScatter, priorDF = 0.10, 4", "10 % worth four degrees of freedom"},
		{"science/assess/rowfactors.go", "rowOff, rowNear = 4, 3", "more than four scatters (six for a unit)"},
		{"science/assess/swapped.go", "swapOff, partnerOff, swapNear = 5, 2.5, 2.5", "one more than five scatters from its own level, the other more than two and a half"},
		{"science/assess/rowfactors.go", "leastByLine     = 2.5", "factors from 2.5 up"},
		{"science/assess/slipped.go", "slipOff = 8", "more than eight scatters"},
		{"science/assess/sight.go", "perPair = 1.0483", "1.048 × the median difference"},
		{"science/assess/sight.go", "leastShare = 0.05", "5 % at least"},
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
