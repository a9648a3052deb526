// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

namespace clockassay::testing {

/// Notes that this value of a vector, or a trap, is held against something: a
/// line each in the file that the environment names, which
/// tests/system/vectors_claimed_test.py reads.
inline void claim(const std::string& what) {
  const char* path = std::getenv("CLOCKASSAY_VECTORS_CLAIMED");
  if (path != nullptr) std::ofstream(path, std::ios::app) << what << '\n';
}

/// The same of a value that is held against something by hand.
inline const nlohmann::json& claimed_value(const nlohmann::json& row,
                                           const char* name) {
  claim(row["id"].get<std::string>() + '.' + name);
  return row["expected"][name];
}

/// The rows of testdata/oscillator/load-vectors.json. Each says where it is
/// from; "own vector, no outside source" proves arithmetic only.
inline const nlohmann::json& load_vectors() {
  static const nlohmann::json rows = [] {
    std::ifstream file(CLOCKASSAY_SOURCE_DIR
                       "/testdata/oscillator/load-vectors.json");
    return nlohmann::json::parse(file)["vectors"];
  }();
  return rows;
}

inline const nlohmann::json& load_vector(const std::string& id) {
  for (const nlohmann::json& row : load_vectors()) {
    if (row["id"] == id) return row;
  }
  FAIL("no vector " << id);
  return load_vectors();
}

/// The rows of testdata/oscillator/plan-vectors.json: drive, gain, start-up,
/// clock path and capture.
inline const nlohmann::json& plan_vectors() {
  static const nlohmann::json rows = [] {
    std::ifstream file(CLOCKASSAY_SOURCE_DIR
                       "/testdata/oscillator/plan-vectors.json");
    return nlohmann::json::parse(file)["vectors"];
  }();
  return rows;
}

inline const nlohmann::json& plan_vector(const std::string& id) {
  for (const nlohmann::json& row : plan_vectors()) {
    if (row["id"] == id) return row;
  }
  FAIL("no vector " << id);
  return plan_vectors();
}

/// The traps of the same file: wrong claims seen in print, and what is right.
inline const nlohmann::json& plan_trap(const std::string& id) {
  static const nlohmann::json traps = [] {
    std::ifstream file(CLOCKASSAY_SOURCE_DIR
                       "/testdata/oscillator/plan-vectors.json");
    return nlohmann::json::parse(file)["traps"];
  }();
  claim(id);
  for (const nlohmann::json& trap : traps) {
    if (trap["id"] == id) return trap;
  }
  FAIL("no trap " << id);
  return traps;
}

inline double input(const nlohmann::json& row, const char* name) {
  return row["inputs"][name]["value"].get<double>();
}

/// Holds `result` against the row's value, to the row's tolerance. What is
/// known from memory is shown only, and decides nothing.
inline void check_vector(const nlohmann::json& row, const char* name,
                         double result) {
  const nlohmann::json& expected = row["expected"][name];
  CAPTURE(row["id"].get<std::string>());
  CAPTURE(row["source"].get<std::string>());
  CAPTURE(name);
  CAPTURE(result);
  const double value = expected["value"].get<double>();
  const double tolerance =
      expected.contains("tol_abs")
          ? expected["tol_abs"].get<double>()
          : expected["tol_rel"].get<double>() * std::abs(value);
  claim(row["id"].get<std::string>() + '.' + name);
  if (row["known_by"].get<std::string>().find("from memory") !=
      std::string::npos) {
    MESSAGE("from memory, shown only: ", row["id"].get<std::string>(), ' ',
            name, ": ", value, ", here ", result);
    return;
  }
  CHECK(std::abs(result - value) <= tolerance);
}

}  // namespace clockassay::testing
