"""The balances: state of the material, flows of heat and water, their residuals and derivatives."""
