"""From tubes to work at the bench: saw lengths, marks, order of bends, slack, pieces of stock."""
