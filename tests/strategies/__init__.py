"""Inputs for tests, with what they mean."""
