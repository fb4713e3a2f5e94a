"""Documents: setups, procedures and records as text, and what is wrong with them."""
