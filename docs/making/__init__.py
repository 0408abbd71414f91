"""Makes the pages of docs/ from the code: what they say is said once, in docstrings, metadata, data files, tests."""
