"""How much room each gear has, and what turning the cables would give and take."""
