// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pugixml.hpp>
#include <string>
#include <vector>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"
#include "clockassay/report/chart.h"

namespace clockassay {

/// The decision and its figures.
/// In: channel  what it judged; nullptr: nothing was there
///     where    what tells it from others of that name; or empty
void add_decision(pugi::xml_node section, const Verdict& verdict,
                  const ChannelResult* channel, const std::string& where);

/// The same of a curve.
void add_decision(pugi::xml_node section, const Verdict& verdict,
                  const DriftResult& curve, const std::string& where);

/// Why, what to do, likely causes, and what it stands on.
void add_grounds(pugi::xml_node section, const Verdict& verdict,
                 const ChannelResult* channel);

/// A picture with its caption and its numbers as a table.
/// Errors: as svg_chart()
Result<void> add_figure(pugi::xml_node page, const Chart& chart);

/// What the page's script draws charts from, as JSON that no markup can be in.
std::string chart_data(const std::vector<Chart>& charts);

}  // namespace clockassay
