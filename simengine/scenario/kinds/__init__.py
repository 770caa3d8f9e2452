"""What a key item of each kind is: its fields, how it is read, what can't be right about one."""
