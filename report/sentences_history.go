package report

// historySentences are those of logs and checks.
func historySentences() map[string]phrase {
	return map[string]phrase{
		"method-without-record":    text("no record turns the readings of {methods} round: their intervals are missing; give a report of a trial of them with --record"),
		"no-checks":                text("the log has no checks (rows with a known), so nothing says whether its methods still hold"),
		"waits-for-check":          text("checks of {known} say that {method} reads otherwise since {since}: the result waits until somebody says what became of it"),
		"may-have-moved":           text("{method} began to read otherwise between {from} and {to}, perhaps before this result"),
		"check-tells-nothing":      text("no limit can be set for checks of {known} by {method}: what it shows there is nearly always the same, so a shift would hardly be seen; take a known nearer to the edge of a step, or another method"),
		"known-beyond-record":      text("the known {known} lies beyond what {method} was tried at, so nothing says what it should read: check with one inside"),
		"limits-need-a-record":     text("checks of {method} are steps of a scale: without a record nothing says how often which is shown, and no limit is set"),
		"checks-otherwise-diluted": text("{n} checks of {known} by {method} were diluted otherwise than most and are not judged with them"),
		"limits-not-set-yet":       text("no limit is set yet for {method}: without a record its first 8 checks of a known set one, and the next is judged by it"),
		"re-expressed":             text("lot {lot} of {method} reads {yield} of what it should, as is known now: re-expressed by that"),
		"lot-taken-as-tried":       text("the trial of {method} names no lots: {lot}, the first one of the log, is taken to be that of the trial"),
		"nitrite-factor":           text("{method} reads 1 mg/L of nitrite (NO2) as {factor} mg/L more nitrate ({limits}, 95 %), by {n} readings of knowns that hold nitrite: measure the nitrite of a water, or keep to waters without"),
		"nitrite-beyond":           text("{method}: all {left} readings of knowns with nitrite lie beyond what it was tried at, so nothing is known of nitrite"),
		"nitrite-taken-off":        text("{reads} was taken off for {nitrite} mg/L nitrite (standard uncertainty {u}), by the factor of {method}"),
		"nitrite-not-stated":       text("the nitrite of this water is not stated: {method} would read {usual} mg/L of it, which tanks may hold (common practice, no source), as {reads} more"),
		"nitrite-not-stated-of":    text("{method} reads nitrite as nitrate, and nobody states the nitrite of some results ({results}): what looks like nitrate may be that"),
		"nitrite-not-tried":        text("the trial of {method} had no known with nitrite, so nothing is taken off for {nitrite} mg/L of it, and it may read much higher for that"),
		"lots-not-stated":          text("lots of {method} were not stated: its intervals are wider by {u} %, as lots may differ (k = 1; common practice, no source), and what looks like a change of the water may be a new lot"),
		"lots-not-stated-tried":    text("lots of {method} were not stated: what looks like a change of the water may be a new lot"),
		"pairs-against-record":     text("samples read by two methods contradict the records of both: what {method} read, lot {lot}, is held against the other by these samples alone"),
		"no-bridge":                text("nothing links {method} before and after the change of {kind} from {from} to {to}: what was read before cannot be held against what was read after. Samples read with both would link them, or one known read with both, while both can still be had"),
		"too-few-to-call":          text("{water}: {results} results are too few to call a slope; {wanted} are wanted, the second number of each lot and method"),
		"hold-not-tied":            text("nothing ties what {method} read to known water, so whether it was inside cannot be told"),
		"hold-too-few":             text("{results} results over {days} days are too few to call; {wanted} over {over} days are the least"),
		"hold-beyond":              text("{open} of {results} results are open above: they say too little of where it was"),
		"hold-wanders-on":          text("what is said of days to come takes each water to wander on as it did: no water change, new feeding or dosing is foreseen"),
		"no-change-stated":         text("nobody says which change matters (change in need.toml): nothing is called the same for the need"),
	}
}
