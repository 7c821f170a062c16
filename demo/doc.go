// Package demo makes the trial of the Saltmarsh Shed: an invented bench with
// five invented methods, whose every true property is known, so that what the
// program says can be held against the truth. Same seed, same trial.
package demo
