"""Restraint: the largest acceleration at which a tied-down article stays in place.

The article is rigid. Inertia acts at its centre of gravity; tiedowns only pull, contacts and blocks
only push, each up to its limit. The answer is the largest acceleration at which these forces can
balance: limit analysis, a linear programme with six equations.

Assumptions and limits:

- A tiedown at its limit is assumed to keep that tension while the tension of the others rises. At
  the working load limit (or LC) a real tiedown can take more, which covers the unequal sharing of
  the load; at the breaking strength it fails and there is no margin. So give the working load limit
  as limit, never the breaking strength. `elastic` computes how unequal the sharing is.
- Pre-tension is not considered: every tiedown may have any tension up to its limit. A tiedown that
  hardly stretches as the article starts to move (over the top, or at right angles to the motion)
  never reaches its limit. For such a tiedown give the pre-tension as limit, else the friction under
  the article is overstated.
- Friction is Coulomb's, with forces chosen freely inside the cone. Limit analysis is proved
  to be a lower bound only if sliding lifts the article (associated flow), which real sliding does
  not. So if friction carries most of the load, the answer is what can balance, not what will. The
  cone is replaced by a pyramid inside it, which never overstates friction.
- Displacements are small, deck and anchors are rigid, and bouncing on a rough road is not included.
  The reported forces are one of possibly many balances.

`bodies` describes articles as arrays, with the types of `arrays`. `columns` holds small linear
programmes and `simplex` solves many of them together; `balance` sets them up and proves the
answers, with `second_opinion` for those that are uncertain. `held_set` finds the largest
accelerations in many directions, `governs` what limits them. `elastic` computes how stretching
tiedowns share the load, with `spring_set` for the displacement at rest and `first_full` for the
acceleration that fills the first tiedown.

Source: statics, derived; the sums of EN 12195-1:2010 5.5.2 and 5.5.3 (read in GDV's forms) are
the same balance with fewer equations.
"""
