"""What happens inside this canister: a fold over the temperature trace."""
