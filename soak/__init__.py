"""soak: plans, runs, watches and records the soak of a sealed carburizing canister."""

__version__ = "0.1.0"
