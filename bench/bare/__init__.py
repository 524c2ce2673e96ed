"""A view beside the product's that writes one row, so that a time can be told as a ratio. The product has none."""
