"""Accounts: none alone on this machine; where the site is shared, who may see and change what.

`rules` has the decorator that every view carries, and what views and templates ask; `roles` what an account may do;
`managing` makes and removes accounts; `throttle` slows down who guesses passwords; `middleware` keeps the rules.
"""
