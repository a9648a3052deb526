// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <pugixml.hpp>
#include <string>
#include <vector>

#include "clockassay/analysis/record.h"

namespace clockassay {

/// Chosen: a page stays below 5 MB, besides its table. What a capture's charts
/// take is some 300 kB, what is said of a clock up to 20 kB.
inline constexpr std::size_t kMostWithCharts = 8;
inline constexpr std::size_t kMostInFull = 40;

/// How much of something a page shows.
enum class Shown { kRow, kText, kCharts };

/// What of a record a page shows: all of it in its table; in full the clocks
/// that are judged worst (fail, undecided, pass; then by error), and what else
/// there is room for, in its order.
struct PageShare {
  explicit PageShare(const Record& record);

  std::vector<Shown> verdicts;
  std::vector<std::vector<Shown>> channels;  ///< by capture
  std::vector<Shown> drifts;
  std::vector<Shown> trends;
  bool is_all = true;  ///< nothing is left out

  bool shows(std::size_t capture) const;
};

// Where parts of a page are.
std::string verdict_id(std::size_t verdict);
std::string channel_id(std::size_t capture, std::size_t channel);
std::string drift_id(std::size_t drift);
std::string trend_id(std::size_t trend);

/// A row each of what there are several of, with what came to nothing, and
/// links to what is shown below. Nothing where one thing is all.
void add_summary(pugi::xml_node page, const Record& record,
                 const PageShare& share);

/// A row each of what was held against each other.
void add_shift_rows(pugi::xml_node section, const ComparisonResult& comparison);

/// What could not be used, and why.
void add_errors(pugi::xml_node page, const Record& record);

}  // namespace clockassay
