"""Delivery: messages a second to a mail server, what a kill costs, claims among many, and owners' replies meanwhile.

Each way to send runs in processes of its own (`ways`); what arrived is counted by the mail server's log alone.
"""
