package curve

import "knownwater"

// Compare holds two curves against one another by themselves, as if their points told their shapes.
func Compare(old, now Curve, need *knownwater.Need) Comparison {
	return compare([]Curve{old}, []Curve{now}, need)
}
