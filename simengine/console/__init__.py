"""The facilitator console and the bedside display: a local web app over one live engine."""
