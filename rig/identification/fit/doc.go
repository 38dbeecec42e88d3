// Package fit finds the law of a governor in its measured frequency response: its
// order, its terms, and how sure each is.
//
// What is fitted, from engine speed to share of throttle with the sign turned, is
//
//	G(jω) = (1 + r·u)·(K + K/(Ti·jω) + K·Td·jω/(1 + jω·Tf)) / (1 + jω·Tm) · e^{−jω(L + n·T)}
//
// at each operating point, with u its share of throttle and T the time of a turn of
// the crankshaft; what the frames of the output add is known and taken out before.
// Each order has some of these terms, the others are none.
//
// A first value comes from linear least squares on the equation error (Levy, IRE
// Transactions on Automatic Control AC-4, 1959), weighted anew a few times by the
// denominator of the fit before (Sanathanan and Koerner, IEEE Transactions on
// Automatic Control 8, 1963), for each of a grid of dead times. From there the
// weighted output error is made least (maximum likelihood for Gaussian errors of
// known size; Pintelon and Schoukens, System Identification, 2nd edition, 2012),
// by the method of Levenberg and Marquardt. The order with the least description
// length is taken (Rissanen, Automatica 14, 1978; Ljung, System Identification, 2nd
// edition, 1999). All sources from memory.
package fit
