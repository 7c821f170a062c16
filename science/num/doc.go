// Package num holds numbers only: distributions, least squares in its kinds,
// the interval-censored likelihood, variance components, roots and seeded
// sampling, standing on gonum. It knows no chemistry and none of the nouns of
// the bench.
//
// Every function is deterministic. A value that cannot be computed (an argument
// outside its range, a NaN going in) comes back as NaN; nothing here panics on
// an argument's value. How many digits each function reaches, and against
// what, is in docs/accuracy.md.
package num
