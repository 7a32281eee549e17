"""The house's interval data: files in, a cleaned record and its statistics out."""
