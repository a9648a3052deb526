// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// Probability that chi-squared of so many degrees of freedom exceeds x >= 0.
double chi_squared_above(double x, int dof);

/// What chi-squared exceeds with that probability.
double chi_squared_limit(double probability, int dof);

/// Probability that F of so many degrees of freedom exceeds x >= 0.
double f_above(double x, int terms, int dof);

/// What F exceeds with that probability.
double f_limit(double probability, int terms, int dof);

/// Probability that chance takes as much off chi-squared with so many terms
/// more: by chi-squared where the scale of the variances is known, else by F.
/// In:  gain  what they take off, below 0 by rounding; left  what is left then,
///      of dof >= 1 degrees of freedom
double gain_by_chance(double gain, double left, int terms, int dof,
                      bool scale_known);

}  // namespace clockassay
