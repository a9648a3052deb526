// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

namespace clockassay {

/// t with P(|T| <= t) = coverage for Student's distribution of `dof` degrees
/// of freedom; absent: infinitely many, the normal distribution.
/// In:     0 < coverage < 1, dof > 0. JCGM 100 truncates an effective number
///         to an integer before it looks t up: that is the caller's choice.
/// Source: JCGM 100:2008, Table G.2
double student_t_two_sided(double coverage, std::optional<double> dof);

}  // namespace clockassay
