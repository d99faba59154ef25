"""Demo stills for framecheck and the script that renders them."""
