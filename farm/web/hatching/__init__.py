"""Pages of hatching: machines and egg sets over the days, chicks on order, and what the farm has learned of both."""
