package report

// chooseSentences are those of choosing ways of testing.
func chooseSentences() map[string]phrase {
	return map[string]phrase{
		"choose-only-one":         text("no other way is both fit and within the limits"),
		"choose-least-money":      text("it costs least of the {ways|0} ways that are fit and within the limits"),
		"choose-least-effort":     text("of the {ways|0} ways that are fit and within the limits it takes least time; what they cost is not known"),
		"choose-fewest-tests":     text("of the {ways|0} ways that are fit and within the limits it takes fewest tests; neither what they cost nor how long they take is known"),
		"choose-least-known":      text("of the {ways|0} ways that are fit and within the limits it costs least of those whose cost is known"),
		"choose-least-with-calls": text("with what wrong calls cost it costs least of the {ways|0} ways that are fit and within the limits"),
		"choose-nothing-tried":    text("no trial here says anything about it"),
		"choose-beyond-limits":    text("{way} would do, but {because}"),
		"choose-would-but":        text("{method} would do, but {because}"),
		"choose-not-tried":        text("no known lies in its range"),
		"choose-undecided":        text("some are undecided and none is shown to be good enough"),
		"choose-nothing-fit":      text("every way that was tried, or follows from it, errs by more than is permitted"),
		"choose-open-questions":   text("{n|n question} about the readings not answered yet: see the report; an answer may change what is said here"),
		"choose-no-price":         text("{methods}: no price and size of a pack, so no money"),
		"choose-no-shelf-life":    text("{methods}: nobody says how long an opened pack is good for (shelf_life_months), so none is counted as spoiled"),
		"choose-no-tests-a-month": text("“{need}” does not say how many tests a month it takes, so no money a year is known for it"),
		"choose-curve-left-open":  text("undecided by the curve {curves}: which points would settle it is not looked for; more points, or knowns kept out of the fit, narrow it"),
		"choose-second-reader":    text("with a second reader (--readers 2) {method} would do for “{need}”"),

		"beyond-minutes":         text("it takes {is} minutes; you asked for {limit}"),
		"beyond-minutes-diluted": text("a water that it dilutes takes {is} minutes, with the undiluted test before; you asked for {limit}"),
		"beyond-money":           text("it costs {is|3} a year; you gave {limit}"),
		"beyond-waste":           text("it leaves {is|3} mL a year to collect; you gave {limit}"),
		"beyond-colours":         text("it is read by colour, and somebody here cannot tell colours"),
		"beyond-hazards":         text("it brings {hazards}, which you do not accept"),

		"unsaid-minutes": text("nobody says how many minutes it takes"),
		"unsaid-money":   text("what it costs a year is not known"),
		"unsaid-waste":   text("nobody says what waste it leaves"),
		"unsaid-hazards": text("nobody says which hazards it brings"),
	}
}
