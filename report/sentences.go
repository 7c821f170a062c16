package report

import (
	"fmt"
	"maps"
	"math"
	"strings"

	"knownwater/science/unit"
)

// sentences are what the codes of package note say, for every code that the
// science gives out: a test holds the two lists together.
var sentences map[string]phrase

// A phrase may hold another one as its reason, hence not at the declaration.
func init() {
	sentences = catalogue()
	maps.Copy(sentences, historySentences())
	maps.Copy(sentences, practiceSentences())
	maps.Copy(sentences, curveSentences())
	maps.Copy(sentences, knownSentences())
	maps.Copy(sentences, chooseSentences())
	maps.Copy(sentences, intakeSentences())
	maps.Copy(sentences, planSentences())
}

func catalogue() map[string]phrase {
	return map[string]phrase{
		// What the readings do not allow.
		"readings-too-wide":   text("the readings span too many orders of magnitude for any spread to be worked out: no interval of a mean, no limits"),
		"nothing-read-twice":  text("every level was read once, so no spread can be stated from these readings: no interval of a mean, no limits"),
		"all-in-one-step":     text("at every level all readings fell in one step: the scatter is at most about a step, which does not make it zero"),
		"no-interval-yet":     text("{readings|0} readings: no interval yet; about four at each level would give one"),
		"level-read-once":     text("level {level} was read once: its interval leans on the scatter at the other levels"),
		"one-level":           text("one level alone does not show how readings rise: no line, no limits, nothing told apart, nothing turned round"),
		"two-single-readings": text("two single readings show no more than a line; nothing judges them"),
		"singles-too-wide":    text("single readings in such wide steps carry no line"),
		"leans-on-line":       text("what follows takes the scatter about a straight line (degrees of freedom: {df|0}) in place of repeats"),
		"single-shares":       singleShares,
		"no-response-fitted":  text("no response could be fitted: {because}"),
		"no-line":             text("no straight line can be given: {because}"),
		"readings-fall":       text("the readings fall as the level rises"),
		"no-finite-fit":       text("the readings do not settle one"),
		"not-rising":          text("the readings do not rise with the level, so they cannot be turned round"),
		"spread-loose":        text("the scatter is known only within a factor of about {factor|2} (degrees of freedom: about {df|0}): too few repeats; about four readings at each level would tell"),
		"read-loosely": text("with {readings|1} readings a level it is hardly told how readings scatter: what a later one says of a sample is told as if they scattered {times|2} times as much as they did here; " +
			"from three a level on it is not"),
		"one-level-spread": text("one level cannot tell how the scatter grows with the level"),
		"few-lots":         text("with {lots|0} lots it is known only roughly how far another one reads: means and biases are those of these lots, and what is said of a lot that was not tried leans on how lots commonly differ, by a tenth or so; about five would tell"),
		"lots-scatter-otherwise": text("readings of one lot scatter otherwise than all lots together have it, more at some levels and less at others: the lots differ by amounts of their own, not in step with the scatter. " +
			"Repeatability and what can be told apart hold only roughly; what is said of each lot by itself, and of later readings with it, is told by its own readings"),
		"lots-are-twins": text("what is said of a lot is said of it and its {twin} together: with another {twin} it may read otherwise"),
		"few-readers":    text("with {readers|0} readers it is known only roughly how people differ; each one’s own offset is shown beside it"),
		"knowns-exact":   text("the known levels came without an uncertainty and were taken as exact: every bias rests on that"),
		"dilution-in-readings": text("the stated uncertainty of the dilution is not added a second time: the trial’s own vials were diluted, " +
			"so their readings carry it"),

		"never-below-zero": text("at {level} it showed 0 beside readings above it, and never less: a display that cannot show less hides how far it scatters there, " +
			"and what it says near nothing looks surer than it is; state its range, such as 0 to 60, if so"),

		// Techniques, branches, neighbouring levels.
		"level-by-other-technique":  text("level {level} was read only with the technique “{technique}”; its mean stands for that"),
		"speaks-of-technique":       text("levels, scatter, limits and needs are for the technique “{technique}”; the others are compared with it"),
		"techniques-not-repeated":   text("techniques cannot be compared: nothing was read twice"),
		"techniques-share-no-level": text("“{technique}” and “{other}” were tried at no common level, so the two techniques cannot be compared"),
		"branches-read-once":        branches("{apart|%} apart, and without repeats nothing says how much of that is chance; the branches disagree as they stand"),
		"branches-disagree":         branches("the branches disagree"),
		"branches-may-agree":        branches("that could be chance, which does not make them equal"),
		"never-diluted":             text("its sheet has samples that read above {over} diluted ×{factor}, and no diluted reading was taken: what is said here is of samples that are never diluted"),
		"not-apart":                 notApart,

		// Why a part of the scatter is missing.
		"no-part":          text("how much {part}s differ is not known: {because}"),
		"part-even":        text("{part}s differ by about as much at every level, whatever single readings scatter by there"),
		"part-alone":       text("some levels were read with one {part} only, and few with several: how {part}s differ there is hardly known, so that limits are wide; let each {part} meet every level"),
		"part-by-root":     text("{part}s differ by more where more is in the water, whatever single readings scatter by there"),
		"part-by-share":    text("{part}s differ in proportion to what is in the water, whatever single readings scatter by there"),
		"part-not-noted":   text("no {part} was noted"),
		"part-one-only":    text("there was one {part} only"),
		"vials-read-once":  text("each vial was read once, so vial and reading cannot be told apart"),
		"part-with-level":  text("no level was tested with two {part}s, so {part} and level cannot be told apart"),
		"part-one-reading": text("each {part} stands for one reading only"),
		"part-is-twin":     text("every {twin} had its own {part}, so the two cannot be told apart; both are counted as {twin}"),

		// Why a limit is missing.
		"no-limits":                   text("no critical value, detection or quantification limit: {because}"),
		"blanks-only":                 text("blanks alone do not show how readings rise"),
		"no-response":                 text("there is no usable response: the readings do not settle how they follow the level"),
		"no-repeats":                  text("nothing was read twice"),
		"spread-at-most":              text("it is only known how large the scatter is at most"),
		"no-blank":                    text("no blank was tested"),
		"few-repeats":                 text("too few repeats to know the scatter (degrees of freedom: about {df|0}, {wanted|0} wanted)"),
		"blank-reads-at-top":          text("no detection limit: readings of the blank reach the top of what was tested"),
		"no-detection-limit":          text("no detection limit within the levels tested: even the highest is sometimes read like a blank"),
		"no-quantification-limit":     text("no quantification limit within the levels tested: nowhere is one result good to 10 %"),
		"quantification-at-detection": text("the quantification limit is put at the detection limit: below that the scatter would be small enough, but the blanks do not settle where nothing ends"),

		// What holds a verdict back.
		"not-tested-between":           text("no known was tested between {low} and {high}"),
		"not-tested-below":             text("no known was tested below {level}"),
		"not-tested-above":             text("no known was tested above {level}"),
		"not-tested-undiluted":         text("samples that read up to {over} are not diluted, and undiluted no known was tested above {level}"),
		"not-tested-diluted":           text("samples that read above {over} are diluted, and diluted no known was tested below {level}"),
		"correction-undecided":         text("not fit as read; whether a correction would do is undecided"),
		"judged-on-single-readings":    text("undecided with so few readings: every level was read once"),
		"corrected-on-single-readings": text("not fit as read; whether a correction would help is undecided with so few readings: every level was read once"),
		"off-the-top":                  text("readings there run off the top of what the method shows; more of the same will not settle it"),
		"knowns-too-loose":             text("at {at|3} the known’s own uncertainty is as large as what is to be decided: knowns four times as sure would help, more tests would not"),
		"question-first":               text("the answer to a question about the readings could overturn the verdict"),
		"too-close":                    text("at {at|3} the error lies so close to the permitted one that neither 400 more tests nor new readers or lots, nor surer knowns would settle it in 4 of 5 cases"),
		"too-few-readers":              text("at {at|3} it hangs on how people differ: {new} more of them, each reading every known once, would settle it in 4 of 5 cases; more tests by the same would not"),
		"too-few-lots":                 text("at {at|3} it hangs on how lots differ: {new} more of them, each tested with every known once, would settle in 4 of 5 cases what is said of a lot that was not tried; more tests with the same would not. To be judged itself, each lot needs as many tests as those that were"),
		"readers-tell-little":          text("at {at|3} it hangs on how people differ, and {had} of them tell little of that: {new} more, each reading every known once, would settle it in about {of10} of 10 cases; more tests by the same would not in 4 of 5"),
		"only-untried-lot-open":        text("the lots that were tried are fit; how far one that was not may lie off at {at|3} is not told by {had}, which leaves the need open for it: about five lots would tell"),
		"lots-tell-little":             text("at {at|3} it hangs on how lots differ, and {had} of them tell little of that: {new} more, each tested with every known once, would settle in about {of10} of 10 cases what is said of a lot that was not tried; more tests with the same would not in 4 of 5"),
		"too-few-tests":                text("at {at|3} the error lies too close to the permitted one for so few tests"),

		// What readings say long after a trial.
		"reads-above-all":         text("no concentration that was tried, up to {top}, reads so high: how far above that it lies cannot be said; dilute and read again"),
		"reads-below-all":         text("no concentration that was tried, down to {bottom}, reads so low: look for a slip, or for something that is not what it was in the trial"),
		"sharer-untried":          text("the {what} “{name}” was not tried: read as by any {what} that was not, which makes the answer wider"),
		"sharer-untried-alone":    text("the {what} “{name}” was not tried, and the trial does not show how much {what}s differ: the answer holds if this one does as those did"),
		"sharer-unnamed":          text("no {what} is named: read as by any that was not tried"),
		"sharers-not-told-apart":  text("the trial does not tell its {what}s apart: the answer is the same for each of them"),
		"dilution-untried":        text("a dilution by {dilution} was not tried: read by what was found at {tried}, and multiplied"),
		"dilution-taken-as-exact": text("the dilution was taken as exact: give its relative standard uncertainty"),
		"unit-not-stated":         text("nobody stated the unit of the knowns: the answer is in theirs, and no need is judged by it"),

		// Stocks, standards, background.
		"of-standard":            text("{standard}: {because}"),
		"shelf-fault":            text("{field}: found {found}, wanted {wanted}"),
		"stock-used-up":          text("stock “{stock}” is used up, by what the prepared sets took from it"),
		"stock-undated":          text("stock “{stock}” has no date: note when it was made and when it expires"),
		"stock-expired":          text("stock “{stock}” expired on {day}: compare it with a fresh stock before you rely on it, or replace it"),
		"stock-expires":          text("stock “{stock}” expires on {day}"),
		"stock-old":              text("stock “{stock}” was made on {day}: renew stocks every 6 to 12 months (common practice, no source)"),
		"stock-lost-water":       text("stock “{stock}” has lost {share|2%} of its water: its value is raised by as much; a tight cap, or a fresh stock, is better"),
		"little-salt":            text("stock “{stock}”: {grams} g is little for {scale} (steps of {step} g): weigh more and make a stronger stock"),
		"no-class-mark":          text("device “{device}” has no class mark: class B is taken"),
		"background-guessed":     text("the background is a guess, yet its standard uncertainty of {u} is below half of it: measure it by standard additions, or state more"),
		"bases-differ":           basesDiffer,
		"stocks-of-nothing":      text("a value or reading of 0 cannot be compared"),
		"stocks-disagree":        shifted("one of them is off; make a third, or ask for a laboratory value", ": "),
		"stocks-agree":           shifted("within the permitted {permitted|2%}", ", "),
		"stocks-undecided":       shifted("more readings would tell whether it is within {permitted|2%}", ": "),
		"few-additions":          text("{readings|n reading} at {additions|n addition}: at least 3 readings at 2 different additions are needed; 3 readings each at 0, 1, 2 and 4 times the smallest would be good"),
		"additions-too-coarse":   text("the readings do not settle a line and its scatter: too many are open, or so coarse that a line without any scatter runs through them all; take more additions, or a method with finer steps"),
		"additions-do-not-show":  text("the reading does not rise with what was added, beyond its scatter: larger additions, or a better method, are needed"),
		"blank-in-background":    text("what the method reads in pure water was not given: the background here includes the method’s own blank"),
		"zero-taken-as-exact":    text("what pure water gives was taken as exact: give its standard uncertainty"),
		"method-finds-share":     text("the method finds {share|2%} of what is added; standard additions allow for it"),
		"additions-bent":         additionsBent,
		"additions-as-straight":  text("the method is taken to answer in a straight line down to nothing: where it bends as it rises, even by less than these additions show, the line is drawn out too far, and the interval does not count that; keep additions where it is straight, or read signals by a curve of the method"),
		"additions-curve-unfit":  text("the curve knows nothing of its scatter and was not used: make one with replicates"),
		"additions-beyond-curve": text("signals of {left|n addition} lie beyond {level}, where the curve ends, and too few are left: make smaller additions, or dilute"),
		"additions-left-out":     text("{additions|n addition} beyond the curve’s range did not count"),
		"additions-off-curve":    additionsOffCurve,
		"blank-by-curve":         text("what pure water gives was not told: the curve’s own signal at nothing stands for it"),
		"background-may-be-none": text("the interval reaches below 0: the background may be nothing; its uncertainty still counts in every standard"),
		"more-than-two-shared":   text("beside the background the standards share more than one error, such as the stock and a pipette: u_shared is the one that tells a slope best, and yet a trial may tell slope and intercept up to {times|2} times as sure as they are; the JSON output holds the whole covariance"),
		"trial-takes-two-shared": text("beside the background the standards share more than one error, such as the stock and a pipette: a trial takes the one that tells a slope best, and yet may tell slope and intercept up to {times|2} times as sure as they are"),
		"standards-late":         text("the standards of “{set}” were to be used by {day}: make fresh ones, or show that these still hold"),
		"set-poured-away":        text("the set “{set}” is marked as poured away"),
		"monte-carlo-differs":    monteCarloDiffers,
		"salinity-cut":           text("salinity is cut by {cut|2%}, more than the limit of {limit|2%}: use a stronger stock, or an intermediate made in the matrix"),
		"other-than-asked":       text("{asked} was asked for: the standard is good, at the value that it has"),
		"standard-loose":         text("its standard uncertainty is {share|2%} of the value; the largest part: {because}"),

		// How a trial was run.
		"imported":           text("imported from {source}: when and how blind the readings were taken is not known here"),
		"key-opened-early":   text("the key was opened early, after {readings|0} of {planned|0} readings: {why}"),
		"after-the-key":      text("{entries|n entry} came in after the key was opened ({read|0} of them read before that, by the phone’s clock)"),
		"outside-the-window": text("{late|n reading} taken after the reading window, {early|0} before it"),
		"expired-lot":        text("{readings|n reading} taken with a lot past its expiry"),
		"key-seen":           text("while the key was sealed, it was looked at {times|n time} (preparation list or export)"),
		"read-after-use-by":  text("{readings|n reading} taken after {day}, the day until which the standards of “{set}” were to be used"),
		"read-after-expiry":  text("{readings|n reading} taken after {day}, when the stock “{stock}”, which the standards come from, had expired"),
		"made-from-expired":  text("the standards were made on {made} from the stock “{stock}”, which had expired on {expired}"),

		// Plans: why a level is proposed, and what a forecast rests on.
		"blank":            text("blank"),
		"below-limit":      text("just below {limit}, a limit of “{need}”"),
		"above-limit":      text("just above {limit}, a limit of “{need}”"),
		"between-swatches": text("between {swatch} of {method}"),
		"below-join":       text("not diluted with {method}, just below {join}"),
		"above-join":       text("diluted with {method}, above {join}"),
		"ladder-step":      text("step of a ladder of factor 2"),
		"even-step":        text("an even step across the need"),
		"forecast-lots":    text("{method}: each of its {lots|0} lots is judged, and one that was not tried; of that one so few lots tell little, however many vials are read"),
		"forecast-stopped": text("stopped after {done|0} of {wanted|0} simulated trials"),
		"spread-by-kind":   text("{method}: scatter taken from a guess by its kind"),
		"spread-from":      text("{method}: scatter taken from {from}"),
		"spread-guessed":   text("{method}: scatter taken from a guess"),

		// The bias in words, and what single readings say.
		"reads":            readsWords,
		"reads-singly":     func(n told) string { return n.Say("as its single readings have it, {1}", readsWords(n)) },
		"half-a-drop":      text("counted as drops times what a drop stands for it reads high by half a drop, {half}: subtract half a drop"),
		"dead-zone":        text("from {from} to {to} the readings hardly follow the water: correctable only above that dead zone"),
		"singles-from":     text("from {level} up every single reading lay {side} its known"),
		"singles-up-to":    text("up to {level} every single reading lay {side} its known"),
		"singles-at":       text("at {level} every single reading lay {side} its known"),
		"straight-through": straightThrough,

		// A curve of signals.
		"unit-of-levels-unstated":   text("nobody stated the unit of the levels: name it in the header, level (mg/L NO3), or by --unit; no need is judged by this curve"),
		"at-dilution":               text("at dilution {dilution}: {because}"),
		"slope-updated":             slopeUpdated,
		"range-ends-unfitted":       text("{because}: the range ends at {end}; the knowns above {fitted} are not fitted, and nothing is read off above the range"),
		"range-ends":                text("{because}: the range ends at {end}, and nothing above is read off the curve"),
		"curve-shows-unknown-above": text("the least that the curve {curve} shows is not known: its levels begin at {from}, so nobody looked how blanks scatter"),
		"curve-shows-unknown":       text("the least that the curve {curve} shows is not known: too few replicates say how its signals scatter near nothing"),
		"curve-rise-unknown":        text("no rise from {from} is told by one result each within the range of the curve {curve}, which ends at {to}"),
		"dead-zone-as-likely":       text("a dead zone fits these knowns as well and reads otherwise, most of all from {from} to {to}: results cover both; a known between these would tell"),
		"curve-turns-back":          text("above {level} the curve turns back"),
		"curve-too-flat":            text("above {level} the curve is too flat for its scatter: one result is unsure by more than 30 %"),
		"signal-turns-back":         text("above {from} the signal turns back, {signal} at {from} and {there} at {top}"),
		"signal-saturated":          text("saturated: above {from} the signal hardly rises any more, {signal} at {from} and {there} at {top}"),
		"point-apart":               text("row {row|0}: the signal {signal} of level {level} disagrees with the others there, {others} on average: look for a slip; it is fitted all the same"),
		"rows-alike":                rowsAlike,
		"sessions-differ":           chance("sessions differ ({p}): a reading of another session is less sure than the intervals say; run a known in each session"),
		"r2-proves-nothing":         text("R² says how far the signals spread along the curve, not that the curve is right; it proves nothing"),
		"curve-does-not-fit":        chance("the curve does not fit: its levels lie further from it than replicates from each other (lack of fit {p}), so it is wrong by more than its intervals say"),
		"no-level-twice":            text("no level was measured twice: nothing judges how well the shape fits; residuals stand in for the scatter"),
		"through-every-mean":        text("as many coefficients as levels: the curve goes through every mean, and nothing judges its shape"),
		"forced-through-zero":       text("the curve was forced through zero as asked: a blank that is not zero then makes every low level wrong"),
		"blanks-against-zero":       chance("the blanks speak against a forced zero: their mean is {mean} ({p})"),
		"no-blank-among-knowns":     text("no blank among the knowns: the limits rest on the curve going on below {level} as it goes above"),
		"few-blanks":                text("{blanks|0} blanks: the limits rest on the scatter of the other levels too; six blanks or more would show that at zero itself"),
		"no-point-left-over":        text("no point is left over to show the scatter: no standard errors, no limits, no intervals"),
		"points-on-the-curve":       text("every point lies on the curve to the last digit: the scatter is not known, so no limits and no intervals; give the signals with more digits"),
		"replicates-agree":          text("all replicates agree to the last digit: their scatter is smaller than a digit, which is not none; lack of fit cannot be judged and the scatter is that about the curve"),
		"scatter-of-few":            text("the scatter is known from {df|3} degrees of freedom only: intervals are wide because of that"),
		"no-detection-of-growth":    text("no detection limit: {df|0} degrees of freedom inside levels do not tell how the scatter grows, so not either what is missed; {wanted|0} are wanted (or --weights none, if you know that it does not grow)"),
		"scatter-taken-as-even":     text("too few replicates to see whether the scatter grows with the level: taken as the same everywhere"),

		// Whether the segments of several dilutions join.
		"dilutions-share-no-level": text("Dilutions {dilution} have no level in common: nothing shows that they join. Measure one known both ways."),
		"cells-share-no-level":     text("The cells of dilutions {dilution} hold no concentration in common: the factor cannot be seen."),
		"join-not-known":           text("Too little is known of the scatter to say whether the dilutions join."),
		"join-is-off":              joinIsOff,
		"dilutions-join":           dilutionsJoin,

		// What a signal says on a curve.
		"signal-of-flat-knowns": text("knowns from {from} up gave such signals too, not to be told apart: the level is {low|3} or more; dilute and measure again"),
		"signal-above-range":    text("the signal lies beyond the range of the curve: the level is above {level}, how far cannot be said; dilute and measure again"),
		"signal-of-no-water":    text("the signal lies further beyond that of a blank than its scatter explains: no water gives it. Look for a cell, a zero or a blank that is not what it was with the curve"),
		"signal-below-range":    text("the signal lies below the range of the curve: the level is below {level}"),
		"any-level-fits":        text("the curve is too flat here: every level in the range could give this signal"),
		"levels-from-fit":       text("the level is {level|3} or more: the curve is flat here or the signal lies at the end of its range; dilute and measure again"),
		"levels-up-to-fit":      text("every level up to {level|3} could give this signal, none better than another"),
		"levels-between-fit":    text("the curve is flat here: every level from {low|3} to {high|3} could give this signal, none better than another"),
		"signal-scatter-untold": text("nothing tells of the scatter of signals: no uncertainty can be said"),
		"knowns-on-the-curve":   text("the knowns lie on the curve to the last digit: their scatter is not known, so no uncertainty can be said"),
		"own-colour-taken-off":  text("the water's own colour, {colour}, was taken off once"),
		"could-be-a-blank":      text("not told apart from water without any: anything up to {level|3} could be a blank"),
		"may-lie-above":         text("the level may lie above {level}, where nothing was measured: no upper limit can be said"),
		"taken-after-last-day":  text("taken after the last day of the curve, {day}"),
		"replicates-differ":     chance("the replicates differ more than signals of the curve did ({p}): look for a slip"),

		// Wavelengths, instruments' tables and other waters.
		"source-beyond-spectra":     text("a source of {width|0} nm reaches beyond the spectra: not computed"),
		"levels-get-one-signal":     text("levels {level} get the same signal: the instrument needs more decimals"),
		"points-beyond-first-water": text("{points|0} points beyond the range of the first water's curve are left out"),

		// Lots.
		"one-lot":           text("all readings came from one lot, “{lot}”: nothing shows how another lot reads"),
		"lots-not-compared": text("the lots share no level at which each was read twice and clearly above nothing, so they cannot be compared"),
		"lot-holds-back":    text("lot “{lot}” by itself is “{verdict}”, and no more is said of the method"),

		// Questions, and what would explain the readings.
		"ask-all":              askAll,
		"ask-rows":             askRows,
		"readings-in-unit":     text("the readings were taken in {unit}"),
		"knowns-in-unit":       text("the knowns are given in {unit}"),
		"not-multiplied":       text("the sample was diluted by {dilution} and the reading not multiplied by it"),
		"multiplied-too-often": text("the reading was multiplied by {dilution} although the sample was not diluted, or was multiplied twice"),
		"both":                 both,
		"ask-swap":             askSwap,
		"ask-share":            text("is “at a swatch” meant as reaching {stated|%} of the way to the next swatch (at_share {stated})? The readings fit {share|%} better; the means at {level} hang on it, and their limits carry the doubt"),
		"ask-twice":            text("every reading stands an even number of times in the table, {readings} readings in all: was the table entered, or pasted, twice?"),
		"ask-slip":             askSlip,
		"ask-known":            knownReadOff,
		"ask-ends-above":       text("does the display show no more than {shown}? From {level} up it showed that every time, and its readings scatter below; if so that number says only that there is at least so much, and its range is to be stated"),
		"ask-ends-below":       text("does the display show no less than 0? At {level} it showed 0 again and again beside readings far above it, and never less; if so its zeros hide how far it scatters there, and its range is to be stated"),
		"ask-order":            text("did anything change while the knowns of {methods|,} were read: reagent, light, tired eyes? They were read in the order of their levels, or nearly so, and what changed meanwhile is told as the method’s own slope. Mixed, as a plan has them, it only adds to the scatter"),
		"ask-pure-water":       text("will this method be used in salt water? Its knowns were made in “{matrix}”, and salt changes what many methods read; nothing here tells by how much"),
		"ask-water":            text("which salinity and temperature had the water? Nobody stated them, so {salinity} and {temperature} °C were taken, which matters between a litre and a kilogram, by about 2 %"),
	}
}

// shifted tells how far one stock reads from the other.
func shifted(end, join string) phrase {
	ending := text(end)
	return func(n told) string {
		shift := unit.Format(100*at(n, "shift", 0), 100*at(n, "u", 0))
		return n.Say("the first reads {1} % against the second", shift) + join + ending(n)
	}
}

func basesDiffer(n told) string {
	value := func(i int) string { return unit.Round(at(n, "value", i), at(n, "u", i)) + " " + name(n, "scale", i) }
	return n.Say("stock “{1}” is counted as {2}, levels as {3}: {4} is {5}. Compare with the label", name(n, "stock", 0), name(n, "basis", 0), name(n, "basis", 1), value(0), value(1))
}

func additionsBent(n told) string {
	return n.Say("the additions do not lie on a straight line ({1}), and one through them would be drawn out too far: make smaller additions, or read signals by a curve of the method", pWords(at(n, "p", 0)))
}

func additionsOffCurve(n told) string {
	return n.Say("the additions do not follow the curve in any way in which a water may change its slope (lack of fit {1}): make a curve from knowns in this water", pWords(at(n, "p", 0)))
}

// chance is the phrase of a text with a p-value in the place {p}.
func chance(t string) phrase {
	return func(n told) string { return text(strings.Replace(n.Say(t), "{p}", pWords(at(n, "p", 0)), 1))(n) }
}

func slopeUpdated(n told) string {
	return n.Say("slope updated by {1} from a re-check: the shape is that of the earlier curve", unit.Format(at(n, "factor", 0), at(n, "u", 0)))
}

// joinLimits are the limits of what the diluted segment reads more than the direct one.
func joinLimits(n told) string {
	u := 100 * (at(n, "ratio", 2) - at(n, "ratio", 1)) / 4
	return n.Say("{1} to {2}", unit.Signed(100*(at(n, "ratio", 1)-1), u), unit.Signed(100*(at(n, "ratio", 2)-1), u))
}

func joinIsOff(n told) string {
	direct, diluted, ratio := at(n, "dilution", 0), at(n, "dilution", 1), at(n, "ratio", 0)
	side := "high"
	if ratio < 1 {
		side = "low"
	}
	return n.Say("The join is off: what is diluted by {1} reads {2} % {3} (95 %: {4} %). The factor is nearer {5}; find out what the device really delivers.", fmt.Sprintf("%.4g", diluted), fmt.Sprintf("%.1f", math.Abs(100*(ratio-1))), side, joinLimits(n), fmt.Sprintf("%.4g", diluted/ratio*direct))
}

func dilutionsJoin(n told) string {
	return n.Say("The dilutions join: what is diluted by {1} reads {2} % against direct.", fmt.Sprintf("%.4g", at(n, "dilution", 1)), joinLimits(n))
}

// rowsAlike names the first pairs of rows and counts the others.
func rowsAlike(n told) string {
	named := make([]string, len(n.Numbers["row"])/2)
	for i := range named {
		named[i] = n.Say("{1} and {2}", fmt.Sprintf("%.0f", at(n, "row", 2*i)), fmt.Sprintf("%.0f", at(n, "row", 2*i+1)))
	}
	s := n.Say("rows {1}", strings.Join(named, ", "))
	if more := at(n, "pairs", 0) - float64(len(named)); more > 0 {
		s += " " + n.Say("and {1} more pairs", fmt.Sprintf("%.0f", more))
	}
	return s + " " + n.Say("hold the same level and signal: counted as separate readings; take copies out")
}

// pWords is a p-value in words.
func pWords(p float64) string {
	switch {
	case math.IsNaN(p):
		return english.Say("not known")
	case p < 0.001:
		return "p < 0.001"
	}
	return "p = " + two(p)
}

func monteCarloDiffers(n told) string {
	u := at(n, "u", 0)
	limit := func(i int) string { return unit.TrueMinus(unit.Round(at(n, "limit", i), u)) }
	return n.Say("Monte Carlo gives {1} to {2}: trust it rather than the symmetric interval here", limit(0), limit(1))
}

func singleShares(n told) string {
	parts := make([]string, len(n.Numbers["level"]))
	for i := range parts {
		parts[i] = n.Say("{1} at {2}", figureOf(at(n, "share", i), "%"), figureOf(at(n, "level", i), ""))
	}
	return n.Say("the single readings are {1} of the known", strings.Join(parts, ", "))
}

func notApart(n told) string {
	parts := make([]string, len(n.Numbers["low"]))
	for i := range parts {
		parts[i] = n.Say("{1} from {2}", figureOf(at(n, "low", i), ""), figureOf(at(n, "high", i), ""))
	}
	return n.Say("one reading each, even by one reader, does not tell {1}", strings.Join(parts, ", nor "))
}

// branches tells what two dilutions of one method read at a common level.
func branches(end string) phrase {
	ending := text(end)
	return func(n told) string {
		var reads [2]string
		for i := range reads {
			reads[i] = "undiluted"
			if d := at(n, "dilution", i); d != 1 {
				reads[i] = english.Say("diluted ×{1}", figureOf(d, ""))
			}
			reads[i] += " " + english.Say("reads {1}", unit.TrueMinus(unit.Round(at(n, "reads", i), at(n, "u", i))))
		}
		s := english.Say("{1} {2} and {3}:", text("where the branches meet, at {level},")(n), reads[0], reads[1]) + " "
		if len(n.Numbers["shift"]) == 3 {
			low, high := 100*at(n, "shift", 1), 100*at(n, "shift", 2)
			u := (high - low) / 4
			s += english.Say("{1} % ({2} to {3});", unit.Signed(100*at(n, "shift", 0), u), unit.Signed(low, u), unit.Signed(high, u)) + " "
		}
		return s + ending(n)
	}
}

func knownReadOff(n told) string {
	return n.Say("is the known at {1} really that? {2} of {3} methods read it off in the same direction, as if it were {4}",
		figureOf(at(n, "level", 0), ""), figureOf(at(n, "methods", 0), "0"), figureOf(at(n, "methods", 1), "0"), figureOf(at(n, "as", 0), "3"))
}
