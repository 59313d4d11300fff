"""The bench in the browser: pages of our own on Datasette, the raw graph behind them."""
