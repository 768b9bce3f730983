"""What runs at a desk, beside no decision: fitting, plausibility, and the pages made from data."""
