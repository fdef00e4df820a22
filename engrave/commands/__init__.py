"""One command of ``pedalsetter`` a file: parse, call the road, print; no logic of its own."""
