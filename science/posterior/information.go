package posterior

import (
	"math"
	"sync"
)

// Information is how much one exact reading tells of its mean and of its log spread under a
// kind of scatter, as a share of what it tells where the scatter is normal (1/s² and 2):
//
//	∫ f′²/f dx   and   ½·∫ (f + x·f′)²/f dx
//
// f the density of (reading − mean)/s, summed over x = sinh t. Of Student's t the second is
// ν/(ν + 3) (Fisher's information of its scale; Lange, Little and Taylor, J. Am. Stat. Assoc.
// 84 (1989) 881, appendix B), of 3 degrees of freedom one half.
func (k Kind) Information() (ofMean, ofLog float64) {
	all := information()
	return all[k][0], all[k][1]
}

var information = sync.OnceValue(func() (all [kinds][2]float64) {
	const end, gap = 6.0, 1.0 / 128
	for k, s := range scatters() {
		for t := -end; t <= end; t += gap {
			x, f, slope := math.Sinh(t), 0.0, 0.0
			for j, w := range s.weight {
				z := x / s.component[j]
				p := w / s.component[j] * math.Exp(-0.5*z*z) / math.Sqrt(2*math.Pi)
				f += p
				slope -= p * z / s.component[j]
			}
			if f < 1e-280 {
				continue
			}
			dx := math.Cosh(t) * gap
			all[k][0] += slope * slope / f * dx
			all[k][1] += (f + x*slope) * (f + x*slope) / f / 2 * dx
		}
	}
	return all
})
