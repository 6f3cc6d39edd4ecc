"""Orders without a store: what is free by day, when to order, how much; and years to try it on."""
