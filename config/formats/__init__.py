"""How dates and numbers are written in each language, where that differs from the framework's own."""
