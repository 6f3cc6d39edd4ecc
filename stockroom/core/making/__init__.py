"""Work and its spoilage: steps that lose layers, what jobs still need, what losses teach."""
