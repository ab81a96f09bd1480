"""The types that engines share, one file an engine. Arrays are C-contiguous and read-only; SI; time in ticks."""
