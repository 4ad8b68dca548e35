"""What an age asks for: pure arithmetic on a rearing programme, vectorised over whole days of age."""
