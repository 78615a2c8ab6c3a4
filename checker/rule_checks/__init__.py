"""What can be wrong with rule files that load: proofs, dead conditions, old sources, reused ids."""
