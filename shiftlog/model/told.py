"""A sentence that keeps what it says: a key and its values, so that a page can say it in another language."""

from collections.abc import Mapping


class Told(str):
    """Plain English text wherever text is wanted; beside it the key of what it says and the values in it.

    key : ``room.what``, as the files of languages have it
    values : by the names of the places in those files: numbers, names, or other sentences of this class
    """

    key: str
    values: Mapping[str, object]

    def __new__(cls, text: str, *, key: str, values: Mapping[str, object]) -> "Told":
        """The text itself, with its key and values."""
        told = super().__new__(cls, text)
        told.key, told.values = key, dict(values)
        return told

    def __getnewargs_ex__(self) -> tuple[tuple[str], dict[str, object]]:
        """A copy keeps key and values."""
        return (str(self),), {"key": self.key, "values": self.values}


def tell(key: str, text: str, **values: object) -> Told:
    """A sentence of that key; ``text`` has its places filled already."""
    return Told(text, key=key, values=values)
