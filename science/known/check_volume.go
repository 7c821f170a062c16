package known

import (
	"math"

	"knownwater/science/unit"
)

// VolumeCheck is a person's own check of a device: what it delivered (or
// held) at one setting, weighed as pure water.
type VolumeCheck struct {
	Setting     float64   // mL
	Weights     []float64 // g, one a delivery; at least 3
	Temperature float64   // of the water, °C
	Pressure    float64   // hPa; 0 means 1013
	UScale      float64   // standard uncertainty of a weight that repeats cannot show, g
}

// covers says whether the check speaks for a setting: within 1 % of its own.
func (c VolumeCheck) covers(setting float64) bool {
	return math.Abs(setting-c.Setting) <= 0.01*c.Setting
}

// Volume is the mean volume in mL, its standard uncertainty and the standard
// deviation of one delivery. NaN with fewer than 3 weights.
//
// V = m·Z with Z from ZFactor (ISO 8655-6); u² = s²/n + (u_scale·Z)².
func (c VolumeCheck) Volume() (mean, u, sd float64) {
	n := float64(len(c.Weights))
	if n < 3 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	for _, w := range c.Weights {
		mean += w / n
	}
	for _, w := range c.Weights {
		sd += (w - mean) * (w - mean) / (n - 1)
	}
	z := ZFactor(c.Temperature, c.pressure())
	sd = math.Sqrt(sd) * z
	return mean * z, math.Sqrt(sd*sd/n + c.UScale*c.UScale*z*z), sd
}

func (c VolumeCheck) pressure() float64 {
	if c.Pressure == 0 {
		return 1013
	}
	return c.Pressure
}

// use is the error of a device after its check: the mean volume with the
// uncertainty of few weighings, and the scatter that was seen.
func (c VolumeCheck) use(device string) use {
	mean, u, sd := c.Volume()
	df := float64(len(c.Weights) - 1)
	return use{
		correction: mean - c.Setting, limitU: u, limitDF: df,
		limitName: "device " + device + " as checked",
		random:    sd, randomDF: df,
	}
}

// ZFactor is the volume in mL of pure water that weighs 1 g in air at a
// temperature (°C) and a pressure (hPa), weights of 8000 kg/m³ (ISO 8655-6):
//
//	Z = (1 − ρa/ρb) / (ρw − ρa).
func ZFactor(temperature, pressure float64) float64 {
	return volumePerGram(unit.Water{Temperature: temperature}.Density(), airDensity(temperature, pressure))
}

// steel is the density of the weights that scales are adjusted with, kg/L.
const steel = 8.0

// volumePerGram is the volume in mL of a liquid of a density (kg/L) that a
// scale shows as 1 g in air of a density.
func volumePerGram(density, air float64) float64 { return (1 - air/steel) / (density - air) }

// airDensity is the density of moist air in kg/L from the ideal gas law with
// 50 % relative humidity: (0.34848·p − 0.009·h·exp(0.061·t)) / (273.15 + t) in
// kg/m³ (OIML R 111, approximate formula, good to 2e-4 of it).
func airDensity(temperature, pressure float64) float64 {
	const humidity = 50.0
	return (0.34848*pressure - 0.009*humidity*math.Exp(0.061*temperature)) / (273.15 + temperature) / 1000
}

// roomAir is the air of buoyancy corrections: its changes with weather and
// height alter a volume by weight by about 0.01 %.
func roomAir(temperature float64) float64 { return airDensity(temperature, 1013) }
