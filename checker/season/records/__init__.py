"""Single hauls as data: findings, evidence of holds, the sample of a statement."""
