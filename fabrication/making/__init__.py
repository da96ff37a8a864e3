"""The pipe at the bench: made step by step, read after every pull, laid over what was wanted."""
