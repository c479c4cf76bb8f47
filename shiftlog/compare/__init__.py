"""Before against after, like with like, no more claimed than measured."""
