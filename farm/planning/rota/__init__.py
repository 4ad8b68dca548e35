"""The rota: who does which occurrences of the agenda, fairly; pure."""
