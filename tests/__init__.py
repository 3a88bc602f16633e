"""The tests; a package, so that no installed package of this name stands in its place."""
