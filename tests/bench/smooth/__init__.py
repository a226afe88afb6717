"""A simulation of smooth recoveries: how often triage would call a person for an animal that is well."""
