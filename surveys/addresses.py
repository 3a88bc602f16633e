"""What a name in an address may be made of."""


class NameConverter:
    """A station's code or the like, as people wrote it: any signs but the two that no name holds.

    A zero byte is refused by the database, and an address with one leads nowhere.
    """

    regex = r"[^/\x00]+"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value
