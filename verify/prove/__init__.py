"""Proofs and counterexamples over the Machine, with MiniSat and z3."""
