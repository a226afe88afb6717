"""Every page opened in a browser: light and dark, on a telephone and on a desk."""
