"""What instruments wrote, as rows of moments and SI values: tolerant in form, strict in truth. Pure: text in, rows and an account of the reading out."""
