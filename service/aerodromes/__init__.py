"""The operator's aerodromes: a folder of files, compiled where there are many."""
