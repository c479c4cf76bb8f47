"""The guided tests: cards, and what a marked span of each says. One file a kind."""
