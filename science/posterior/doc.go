// Package posterior finds what interval readings say about group means, about
// how readings scatter, and about what they share (reader, session, lot, vial).
//
// # The model
//
// Reading i of group g (one level under one technique) has the latent value
//
//	z = m_g + s_g·(A_reader + A_session + A_lot + V_vial + e),  e of one of four kinds of scatter
//	log s_g = log φ + log h(c_g) + log t_g + δ_g,  δ_g ~ N(0, ω²)
//
// and only the interval that holds z is seen. s_g is the normal-equivalent
// standard deviation (half of the middle 95 %, ÷ 1.96); h is one of some fifty
// shapes over the known concentration c; t is 1 for the reference technique;
// A and V are normal with a standard deviation τ of their source, in units of s, or, where
// the readings have it so, of another height over the concentration (ways).
//
// # Priors
//
// See docs/statistics.md, which says the same at length.
//
//	m_g   flat; bounded where all readings of g are open at one end
//	φ     log φ flat, times Π (s/(s + w))^(3/G) over the G groups, w the width of
//	      a reading; on charts (Data.Coarse) also Π (1 + (s/2w)²)^(−2/G)
//	h, ω  wide, or favouring a form (Prior): two posteriors are given, each for
//	      the statements that were calibrated under it
//	e     normal 50 %, with few slips 20 %, with more 15 %, heavy-tailed 15 %
//	τ     half-t with 3 degrees of freedom and scale Factor.Scale
//	log t normal, mean 0, standard deviation 0.7
//
// # How
//
// Where no source crosses the groups, a group's mean is independent of all
// others given s_g, and everything is integrated group by group (level, levels)
// and drawn along fixed points. Where one does, latent readings are drawn
// (chain), with random numbers that the data name. Either way the same data give
// the same answer.
package posterior
