"""The dashboard: pages over a workshop, with no need of the internet."""
