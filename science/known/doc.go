// Package known makes water whose concentration is known with an uncertainty:
//
//  1. a Shelf says what is there: stocks, glassware, scales, the salt matrix
//     and its background (Examine finds what is wrong with it);
//  2. Search finds the dilutions with the smallest uncertainty that the shelf
//     allows, Alternatives the next best and what one more device would gain;
//  3. a Preparation says what was really taken and filled up to;
//  4. Evaluate gives every standard its value, its named error parts, and what
//     the standards share; Simulate lays Monte Carlo beside it.
//
// Inside, a concentration is in mg/L of the shelf's basis, volumes are in mL,
// masses in g, temperatures in °C, shares are numbers from 0 to 1, and u means
// a standard uncertainty (k = 1).
package known
