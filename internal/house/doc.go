// Package house holds no code. Its tests keep the rules of the house that the
// compiler does not: which package may import which, that the pure part has no
// clock and no randomness of its own, that NOTICE is complete.
package house
