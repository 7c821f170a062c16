package control

// Within is how likely the sum is to have signalled by each of the first n checks.
func (s Scores) Within(steps []Step, n int) []float64 {
	var out []float64
	alive, signals := s.walk(steps, func(alive float64) bool {
		out = append(out, 1-alive)
		return len(out) <= n
	})
	for len(out) <= n {
		alive *= 1 - signals
		out = append(out, 1-alive)
	}
	return out[1 : n+1]
}
