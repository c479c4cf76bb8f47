"""The page for the client, the card for the road, and whether a page still holds."""
