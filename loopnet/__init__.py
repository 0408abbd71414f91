"""loopnet: compose, size, balance, run and cost circuits that turn concentrated sunlight into power and heat."""

from loopnet.shown import show_with

show_with("loopnet.notebook")
