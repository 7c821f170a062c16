// Package curve finds the relation between the concentration of known water and
// the signal that a method shows (an absorbance, the display of another program),
// judges it by knowns that it was not fitted to, and turns later signals round.
//
//  1. check: points that cannot carry a curve are refused, doubtful ones asked about;
//  2. reduce: points become levels: a mean, a count and the scatter inside;
//  3. spread: how far signals scatter at each level, from replicates;
//  4. choose: the smallest adequate shape, or the one that was asked for;
//  5. fit: coefficients with their covariance under each weighting that the
//     replicates leave possible (Weighting);
//  6. bound: the range in which the curve may be used, as it was measured;
//  7. judge, read, compare: everything else goes through a Curve. What is done before and
//     beside it has rooms of its own: scan, handover, matrix.
//
// What is random about a curve is carried as a short list of weightings, each
// with its probability; under each of them a later signal follows a t
// distribution. With fixed weights there is one, and every interval is the
// textbook's (Fieller's for a line).
package curve
