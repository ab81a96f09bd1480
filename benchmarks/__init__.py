"""Speeds that are promised, measured: ``make bench`` prints the table and writes build/bench.json."""
