package num

// ClopperPearson is the exact interval of the chance behind k of n (C. J. Clopper,
// E. S. Pearson, Biometrika 26 (1934) 404), what both sides leave out together being
// outside: the chances under which k or more, and k or fewer, are just half that
// likely. By quantiles of F:
//
//	low = k/(k + (n−k+1)·F), F of 2(n−k+1) and 2k degrees; 0 where k = 0
//	high = (k+1)·F/(n−k + (k+1)·F), F of 2(k+1) and 2(n−k) degrees; 1 where k = n
//
// It covers at least what it says, whatever the chance. None of nothing is 0 to 1.
func ClopperPearson(k, n int, outside float64) (low, high float64) {
	a, b := float64(k), float64(n-k)
	low, high = 0, 1
	if k > 0 {
		low = a / (a + (b+1)*FQuantile(1-outside/2, 2*(b+1), 2*a))
	}
	if k < n {
		f := (a + 1) * FQuantile(1-outside/2, 2*(a+1), 2*b)
		high = f / (b + f)
	}
	return low, high
}
