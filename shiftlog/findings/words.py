"""What stands beside findings wherever they are shown."""

HEADING = "What stands out"
CAUTION = (
    "No diagnosis: these are places to look at next, from common practice without a source. A trained technician "
    "decides what they mean and what is done."
)
