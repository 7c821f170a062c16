package reading

import (
	"fmt"
	"math"
)

// DilutionFactor is what a reading has to be multiplied by when pure parts of
// pure water were added to sample parts of sample: (pure + sample) / sample.
func DilutionFactor(pure, sample float64) (float64, error) {
	if !(pure >= 0) || !(sample > 0) || math.IsInf(pure, 1) || math.IsInf(sample, 1) {
		return 0, fault(fmt.Sprintf("%g parts pure water and %g parts sample", pure, sample),
			"parts of pure water from 0 up and parts of sample above 0")
	}
	return (pure + sample) / sample, nil
}

// DilutionText says a dilution in words: "15 parts pure water and 1 part
// sample: factor 16".
func DilutionText(pure, sample float64) string {
	f, err := DilutionFactor(pure, sample)
	if err != nil {
		return ""
	}
	return parts(pure) + " pure water and " + parts(sample) + " sample: factor " + fmt.Sprintf("%.6g", f)
}

func parts(n float64) string {
	if n == 1 {
		return "1 part"
	}
	return fmt.Sprintf("%.6g parts", n)
}
