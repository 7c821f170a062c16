package report

import "knownwater/science/assess"

// cautions are the ones that apply to a trial of water tests (common practice,
// no source; a reagent’s own safety sheet overrides them).
func cautions(f assess.Findings) []string {
	return []string{
		"Not for drinking water, medical, regulatory or compliance decisions, and no substitute for a laboratory.",
		"These findings speak of the lots, people, techniques and waters of this trial. Another lot, reader or water is not covered until it has been tried.",
		"The knowns are only as good as they were made: their stated uncertainty is inside every bias, an unstated mistake in making them is not.",
		"Never pour tested water, standards or rinse back into a tank. Never pipette by mouth, keep food off the bench, children and pets away, and label every bottle with content, strength, date and hazard.",
		"Reagents can hold acids, alkalis, zinc, cadmium or other toxic substances: goggles and gloves, and follow the reagent’s own safety sheet; it overrides this page.",
		"Collect waste by the local rules, one closed and labelled container a class; never assume the sink.",
		"Do not dose or change a tank on a single reading, least of all on one below the detection limit or open at an end.",
	}
}
