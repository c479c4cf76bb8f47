"""What stands out in a drive beyond chance, and where to look next: common practice, never a diagnosis."""
