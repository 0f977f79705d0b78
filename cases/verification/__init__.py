"""Verification: what stemwall computes against what is published or can be derived independently."""
