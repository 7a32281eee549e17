"""Circuit laws and heat; knows no rule book."""
