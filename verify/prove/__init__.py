"""Proofs and counterexamples over the Machine, with z3."""
