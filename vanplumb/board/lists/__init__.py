"""What a board needs cut, bought and made."""
