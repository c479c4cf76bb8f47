"""The card of each guided test: what it answers, how it is done, what spoils it. Common practice, no source."""
