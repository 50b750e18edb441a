"""An invented town, its groomer, households, dogs and two years of work, all from one seed."""
