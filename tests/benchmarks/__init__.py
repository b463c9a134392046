"""Benchmarks: run ``python -m tests.benchmarks``; they print a table and judge nothing."""
