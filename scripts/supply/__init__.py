"""What the product rests on and how it leaves the house: locked libraries, their bill of materials, the wheel."""
