package report

// practiceSentences are what the trade knows of samples and waters: common practice, no source.
func practiceSentences() map[string]phrase {
	return map[string]phrase{
		"sample-stood-too-long":       text("the sample stood {hours} hours; {analyte} keeps about {most}, cold and dark (common practice, no source): take a fresh one before you act"),
		"sample-stood-unfiltered":     text("the sample stood {hours} hours and was not filtered; {analyte} keeps about {most} that way, since life in it takes it up (common practice, no source)"),
		"sample-stood-warm":           text("the sample stood {hours} hours; {analyte} keeps about {most} on the bench and {cold} cold and dark (common practice, no source)"),
		"nitrite-reads-as-nitrate":    text("the notes speak of nitrite, which many nitrate tests read as nitrate, several times over: test nitrite, too (common practice, no source)"),
		"oxidants-bleach":             text("the notes speak of an oxidant, which bleaches colours: let the sample stand open, or add a grain of sulphite to a second one and compare (common practice, no source)"),
		"binders-hide":                text("the notes speak of a binder or of chloramine: some tests still see what it has bound, some do not (common practice, no source)"),
		"own-colour-adds":             text("the notes speak of coloured water, which adds its own colour: look down through the water beside the vial as well, or take its colour off (common practice, no source)"),
		"turbidity-adds":              text("the notes speak of cloudy water, which reads as colour: filter it (common practice, no source)"),
		"silicate-reads-as-phosphate": text("the notes speak of silicate, which some phosphate tests read as phosphate: keep to the times of the sheet (common practice, no source)"),
		"medicine-disturbs":           text("the notes speak of copper or medicine: both may hinder the colour; a spike shows whether they do (common practice, no source)"),
	}
}
