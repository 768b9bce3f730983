"""A module for each form. What is released is never changed, only followed."""
