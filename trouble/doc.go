// Package trouble computes, from what a caller says and what the case already knows, what is likely wrong with a therapy
// and what to ask or check first. It is the step from "it alarms" to the next sentence to read out.
//
// The model is data (data/*.toml, each number with its mark "from memory", "common practice" or a source): causes with
// chances, signs with the chance of each answer for each cause, checks with minutes and the chance that they find and
// mend a cause. One cause is taken to be there at a time, or "other", the leak term (docs/model/trouble.md):
//
//	P(c | answers, failed checks) ∝ P(c) · Π P(answer | c) · Π (1 - s(check, c))          (eq. 1)
//	ECR(k) = Σ_{j<=k} m_j R_{j-1} + R_k M,   R_j = Σ_c P(c) Π_{i<=j} (1 - s(i, c))         (eq. 2)
//	gain(q) = ECR - Σ_a P(a) ECR(a) - m_q                                                   (eq. 3)
//
//	symbol   Go             unit   meaning
//	c        Cause                 what is wrong
//	s        Check.Finds    -      chance that the check finds and mends the cause
//	m        Minutes        min    time that a question or check takes
//	M        State.VisitMin min    time until somebody trained is there, who mends every cause
//	R        -              -      chance that nothing has mended it yet
//	ECR      Advice.MinutesLeft    expected minutes to resolution
//
// Checks are ordered by chance over minutes, which is optimal for single faults with a check each; the cost of calling
// somebody closes the sequence at the best place. A question is asked when it saves more minutes than it takes (eq. 3).
// This is one step of looking ahead after Heckerman, Breese and Rommelse 1995 (Commun ACM 38(3):49, from memory).
//
// What it cannot do: two faults at once are only met one after the other; answers are taken as independent given the
// cause; numbers are from memory until calls have been counted. It never says that nothing is wrong with the patient.
package trouble
