"""Tables and pictures, drawn from nothing but a result of the contract's form."""
