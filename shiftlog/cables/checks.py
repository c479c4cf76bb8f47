"""What is checked after any change of a cable, said once for terminal, pages and follow-up."""

LOCKOUT = "check the lock-out of reverse"
MOVED_PLANES = "the select cable's change moved the planes against it"
PRESS_AGAIN = "press every gear home again as in the test, and hold what it then has against what is said here"
AFTER = (
    "every gear in and out at standstill, engine off and running",
    "the lever free in neutral",
    "only then the road",
)
CAUTION = "Common practice, no source, and no diagnosis. Work under a car is for trained people."


def list_checks(*, select_moved: bool, press_again: bool = False) -> tuple[str, ...]:
    """In order, before the road."""
    again = (PRESS_AGAIN,) if press_again else ()
    return (*again, f"{LOCKOUT}: {MOVED_PLANES}" if select_moved else LOCKOUT, *AFTER)


def say_caution(*, listed: bool) -> str:
    """listed : the checks stand above as steps already, and are not said again."""
    return CAUTION if listed else f"{CAUTION} After any change of a cable: {'; '.join((LOCKOUT, *AFTER))}."
