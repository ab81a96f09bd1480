"""What every engine shares: ticks, units, sources, digests, draws, frames, faults and the contracts."""
