"""Documents to print or send: article, mailing, shack card."""
