package doubt

// mostQuestions bounds what is asked about one method.
const mostQuestions = 12

// Ask puts the doubts about one method. Readings that a swap explains are not
// asked about again as slips, nor those that a factor explains.
func (s *Sight) Ask(denied func(Question) bool) []Question {
	s.look()
	var qs []Question
	if q, ok := s.askAll(); ok {
		q.Keyed()
		if qs = append(qs, q); !denied(q) {
			return qs // till that is settled nothing else can be seen
		}
	}
	qs = append(qs, s.askTwice()...)
	qs = append(qs, s.askRange()...)
	qs = append(qs, s.askSwaps()...)
	qs = append(qs, s.askRows()...)
	qs = append(qs, s.askSlips()...)
	for i := range qs {
		qs[i].Keyed()
	}
	return qs[:min(len(qs), mostQuestions)]
}
