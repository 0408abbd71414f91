"""loopnet: compose, size, balance, run and cost circuits that turn concentrated sunlight into power and heat."""
