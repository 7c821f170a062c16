package history

// unstated gives results of a water whose nitrite nobody measured, by a method that reads nitrite, the doubt that what was measured of
// the water leaves: as much as the nearest before it or after it had, as one standard uncertainty that all of them share. Else a water
// in which nitrite is measured from some day on falls on that day by what is taken off from then. A water in which none was ever
// measured is left to the note.
func (l *links) unstated() {
	for i := range l.points {
		p := &l.points[i]
		records := l.Records[p.Method]
		if p.at < 0 || p.NitriteKnown || len(records) == 0 {
			continue
		}
		before, after := -1, -1
		for k, q := range l.points {
			switch {
			case q.at < 0 || q.Water != p.Water || !q.NitriteKnown:
			case q.day <= p.day && (before < 0 || q.day >= l.points[before].day):
				before = k
			case q.day > p.day && (after < 0 || q.day < l.points[after].day):
				after = k
			}
		}
		for _, k := range []int{before, after} {
			if k < 0 {
				continue
			}
			if reads, _, _, ok := records[len(records)-1].NitritePart(l.points[k].Nitrite, 0); ok {
				p.unstated = max(p.unstated, reads)
			}
		}
	}
}
