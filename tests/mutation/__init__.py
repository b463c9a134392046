"""Mutation run: every operator, number and comparison of the equations is changed once."""
