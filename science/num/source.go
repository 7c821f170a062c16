package num

import (
	"hash/fnv"
	"math/rand/v2"
)

// Source is the random stream of one task of a computation that was given one
// seed: Source(seed, 3) is always the same and has nothing to do with
// Source(seed, 4), Source(seed) or Source(seed, 3, 0). Give each piece of
// parallel work its own, named by its place in the whole, and results do not
// depend on how many workers share the work.
func Source(seed uint64, task ...uint64) *rand.Rand {
	a := Mix(seed + golden)
	b := Mix(a + uint64(len(task)))
	for _, t := range task {
		a = Mix(a ^ Mix(t+golden))
		b = Mix(b + a)
	}
	return rand.New(rand.NewPCG(a, b))
}

// Named is the random stream of a task that a name seeds: draws of different names have nothing
// to do with one another.
func Named(name string, task ...uint64) *rand.Rand {
	h := fnv.New64a()
	_, _ = h.Write([]byte(name)) // a hash does not fail
	return Source(h.Sum64(), task...)
}

const golden = 0x9e3779b97f4a7c15

// Mix is the finaliser of SplitMix64 (Steele, Lea & Flood 2014): every bit of
// the input moves about half of the bits of the output.
func Mix(z uint64) uint64 {
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}
