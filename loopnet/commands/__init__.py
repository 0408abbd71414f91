"""The commands, a file each; `loopnet/cli.py` gathers them. Heavy imports stay inside the functions."""
