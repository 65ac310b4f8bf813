"""Cases with a known truth, made apart from the diagnosis they measure.

Written from the trade's own words (what fails, how often, what a person notices) and the authors' judgement, without
the failure modes, priors, banks or likelihoods of the program, which nothing here may import. Air comes from the numpy
solver, never from the compiled kernel. Every number is judgement unless its line says otherwise.
"""
