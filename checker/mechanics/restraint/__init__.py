"""How hard a trailer may brake, turn or bump before a tied-down article moves.

The article is rigid. Inertia pulls at its centre of gravity; tiedowns, contacts and blocks push
and pull one way, each up to its limit. The answer is the largest acceleration for which some set
of those forces balances: limit analysis, a linear programme with six equations.

What the answer rests on, and where it ends:

- A tiedown that reaches its limit is taken to keep that pull while the others fill up. At the
  working load limit (or LC) a real one goes on and pulls harder, and its margin above that limit
  pays for the unequal filling up; at breaking strength it lets go and there is no margin. So the
  limit to give is the working load limit, never the breaking strength. How unequal it is,
  `elastic` tells.
- Pre-tension is not needed for it and not counted: every tiedown pulls what is wanted of it.
  A tiedown that hardly tightens as the article starts to move (over the top, or straight across
  the way it moves) never gets there by itself. For that one give as limit the tension it is
  tightened to, or the friction under it is overstated.
- Friction is Coulomb's, with forces chosen freely inside the cone. The theorem that makes limit
  analysis a lower bound wants sliding to lift the article (associated flow), which real sliding
  does not; where friction carries most of the load the answer says what can balance, not what
  will. The cone itself is replaced by a pyramid inside it and never overstated by that.
- Displacements are small, deck and anchors do not give, and the bounce of a rough road is no
  part of it. Held forces are one balance of possibly many.

`body` is one article by itself, `bodies` many of them as arrays; `simplex` solves many small linear
programmes together, `balance` sets them up and proves the answers, with `second_opinion` for what
is unsure. `held_set` answers in many directions, `governs` says what gives, and `elastic` how
stretching tiedowns share what they carry.

Source: statics, derived; the sums of EN 12195-1:2010 5.5.2 and 5.5.3 (read in GDV's forms) are
the same balance with fewer equations.
"""
