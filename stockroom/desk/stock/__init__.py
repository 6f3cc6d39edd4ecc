"""Stock: what comes, is moved, opened, used and counted; materials and places defined."""
