"""Where articles stand and which tiedown runs where, so that every rule is met."""
