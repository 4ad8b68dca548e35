"""The pages of the rota: the week, one round, fair shares, the printed sheet, the rules."""
