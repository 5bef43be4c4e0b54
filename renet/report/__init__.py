"""What a person or a program reads: pure strings out."""
