"""Will it fit: where a bent tube may sit, how likely it goes in, what decides that."""
