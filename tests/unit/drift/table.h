// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <doctest/doctest.h>

#include <fstream>
#include <sstream>
#include <string>
#include <vector>

namespace clockassay::testing {

/// The rows of testdata/drift/<name>: numbers apart by commas, below one line
/// of names; lines that begin with # are comments.
inline std::vector<std::vector<double>> drift_table(const std::string& name) {
  std::ifstream file(CLOCKASSAY_SOURCE_DIR "/testdata/drift/" + name);
  REQUIRE(file.good());
  std::vector<std::vector<double>> rows;
  bool named = false;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line[0] == '#') continue;
    if (!named) {
      named = true;
      continue;
    }
    rows.emplace_back();
    std::istringstream cells(line);
    for (std::string cell; std::getline(cells, cell, ',');) {
      rows.back().push_back(std::stod(cell));
    }
  }
  return rows;
}

}  // namespace clockassay::testing
