package report

// knownSentences are how standards are made, step by step, and what to mind while they
// are. Steps and cautions are sentences of their own; amounts and liquids stand inside.
func knownSentences() map[string]phrase {
	return map[string]phrase{
		// The sheet.
		"sheet-title": text("Standards of {analyte} in {because}, {scale}"),
		"have-salt-water": text("Salt water of salinity {salinity}, one batch for everything, mixed at least 12 hours: about {volume|0} mL and as much again " +
			"for rinsing."),
		"stand-together": text("Let stock, salt water and glass stand together until all are at {temperature} °C, within {within}."),
		"have-stock": text("Stock {stock}: about {volume|3} mL. Pour some into a clean beaker and take from there; nothing goes back into the " +
			"bottle."),
		"note-room-and-name": text("Note room temperature, time and your name."),
		"fill-the-blank":     text("Rinse the bottle with {because} and fill it with it: this is the blank."),
		"rinse-vessel":       text("Rinse the {vessel} twice with {because} and pour the rinse away."),
		"take-dry-bottle":    text("Take a clean, dry bottle: what clings to a wet one would not be weighed."),
		"zero-with-bottle":   text("Set the bottle on the {scale} and press it to zero."),
		"zero-with-vessel":   text("Set the {vessel} on the {scale} and press it to zero."),
		"add-by-weight":      text("Add {because} of {from} and write down what the scale shows."),
		"add-drops":          text("Hold the dropper upright and add {because} of {from}."),
		"add-by-volume":      text("Fresh tip or rinse with {from}; add {because} and write down what was set."),
		"fill-to-mark":       text("Fill up with {because}; bring the lowest point of the surface onto the mark, eye level with it."),
		"fill-to-weight":     text("Without pressing zero again, fill up with {because} to {grams|set} g in all and write down what the scale shows."),
		"turn-over":          text("Close, and turn it over 15 times."),
		"label-content":      text("Label it {name}, with content, strength and date."),
		"label-not-value":    text("Label it with a code, not with its value."),
		"label-code":         text("Label it {code}."),
		"label-with-code": text("Label each bottle with its code and the date, never with the value; keep the list of codes and values apart from the " +
			"readers."),
		"use-the-same-day": text("Use the standards the same day, or keep them filtered, dark and at 4 °C for at most 7 days; discard what turns " +
			"cloudy (common practice, no source)."),
		"weigh-stock-back": text("Weigh the stock bottle when you put it back and note the weight: what is missing next time has evaporated."),

		// Cautions.
		"not-for-drinking": text("Not for drinking water, medical, regulatory or compliance decisions."),
		"never-into-a-tank": text("Never pour standards, stock or rinse back into a tank. Never pipette by mouth. No food on the bench; children and " +
			"pets away."),
		"label-hazard": text("Label every bottle with content, strength, date and hazard; a code stands for the strength on blind standards, the list " +
			"says which."),
		"waste-by-local-rules": text("Waste by local rules: do not assume the sink. One closed, labelled container a class."),
		"salt-to-dry":          text("{salt} ({formula}): {drying}. The bottle’s own safety sheet overrides this."),
		"feeds-fires": text("Nitrate and nitrite salts feed fires: keep them away from fuels, sugar and heat; buy and store only what is needed; local " +
			"purchase rules apply."),
		"acid-into-water": text("Acid: goggles and gloves; acid into water, never water into acid; rinse eyes 15 minutes and seek help."),
		"toxic":           text("Toxic if swallowed or breathed in: gloves, no dust, closed and locked away."),

		// How a standard came from its stock.
		"matrix-itself": text("the matrix itself, nothing added"),
		"from-stock":    text("stock {stock}"),
		"made-up": func(n told) string {
			return n.Say("{1}: {2}, filled up to {3}", name(n, "name", 0), takenOf(n), wholeOf(n))
		},

		// Amounts and liquids.
		"nothing-added":  text("nothing added"),
		"amount-drops":   text("{drops|n drop} ({device})"),
		"amount-grams":   text("{grams|set} g ({device})"),
		"amount-times":   text("{times|0} × {volume|set} mL ({device})"),
		"amount-once":    text("{volume|set} mL ({device})"),
		"whole-to-mark":  text("the mark of {device}"),
		"whole-in-grams": text("{grams|set} g in all ({device})"),
		"pure-water":     text("pure water"),
		"named-water":    text("{water}"),
		"the-matrix":     text("matrix"),

		// What the doubt is made of.
		"no-error-part": text("none"),
		"largest-part":  text("{part} ({share|0%} of the variance)"),
	}
}

// takenOf is what a step takes and from where: its first reason is the amount.
func takenOf(n told) string { return reason(n, 0) + " of " + name(n, "from", 0) }

// wholeOf is up to which it is filled and with what: its second and third reason.
func wholeOf(n told) string { return reason(n, 1) + " with " + reason(n, 2) }
