// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "clockassay/estimate/phase_deviation.h"
#include "unit/estimate/doc_table.h"

using namespace clockassay;

namespace {

/// Phases from frequencies, tau0 = 1.
std::vector<double> phases_of(const std::vector<double>& frequencies) {
  std::vector<double> x = {0.0};
  for (const double y : frequencies) x.push_back(x.back() + y);
  return x;
}

/// The nine frequencies of NBS Monograph 140, Annex 8.E, that NIST SP 1065
/// (W. J. Riley, 2008), section 12.3, takes for its Table 30.
std::vector<double> nine_points() {
  return phases_of({892, 809, 823, 798, 671, 644, 883, 903, 677});
}

/// The 1000 frequencies of NIST SP 1065, section 12.4, for its Table 31:
/// n(i+1) = 16807 n(i) mod 2147483647 from 1234567890 on, over 2147483647.
std::vector<double> thousand_points() {
  std::vector<double> y;
  std::uint64_t n = 1234567890;
  for (int i = 0; i < 1000; ++i) {
    y.push_back(static_cast<double>(n) / 2147483647.0);
    n = 16807 * n % 2147483647;
  }
  return phases_of(y);
}

/// What the tables print at one tau; ADEV and HDEV overlapping.
struct PrintedRow {
  std::size_t m;
  const char* adev;
  const char* mdev;
  const char* tdev;
  const char* hdev;
};

/// Table 30. Some prints of the first Hadamard deviation have 70.80608; the
/// exact one is 70.8060732.
constexpr PrintedRow kTable30[] = {
    {1, "91.22945", "91.22945", "52.67135", "70.80607"},
    {2, "85.95287", "74.78849", "86.35831", "85.61487"}};

/// Table 31. The rows of it whose last digit is off by one, those of the
/// Hadamard deviation without overlap at m = 100 and of its total deviation at
/// m = 10, are of statistics that are not made here.
constexpr PrintedRow kTable31[] = {
    {1, "2.922319e-01", "2.922319e-01", "1.687202e-01", "2.943883e-01"},
    {10, "9.159953e-02", "6.172376e-02", "3.563623e-01", "9.581083e-02"},
    {100, "3.241343e-02", "2.170921e-02", "1.253382e+00", "3.237638e-02"}};

/// One of the last digit printed.
double last_place(const std::string& printed) {
  const auto point = printed.find('.');
  const auto exponent = printed.find('e');
  const auto digits =
      static_cast<int>(std::min(exponent, printed.size()) - point) - 1;
  const int power =
      exponent == std::string::npos ? 0 : std::atoi(&printed[exponent + 1]);
  return std::pow(10.0, power - digits);
}

std::string formatted(const char* format, double value) {
  char text[64];
  std::snprintf(text, sizeof text, format, value);
  return text;
}

/// Within half a unit of the last digit printed. Adds a line to the table, the
/// value with three digits more.
void check_printed(const char* set, std::size_t m, const char* statistic,
                   const std::string& printed, double value,
                   std::string& table) {
  CAPTURE(set);
  CAPTURE(m);
  CAPTURE(statistic);
  CHECK(std::abs(value - std::atof(printed.c_str())) <=
        0.5 * last_place(printed));
  const bool scientific = printed.find('e') != std::string::npos;
  table += std::string("| ") + set + " | " + std::to_string(m) + " | " +
           statistic + " | " + printed + " | " +
           formatted(scientific ? "%.9e" : "%.8f", value) + " |\n";
}

void check_row(const char* set, const std::vector<double>& x,
               const PrintedRow& row, std::string& table) {
  const std::size_t m = row.m;
  check_printed(set, m, "ADEV", row.adev, allan_deviation(x, m, 1.0)->value,
                table);
  check_printed(set, m, "MDEV", row.mdev,
                modified_allan_deviation(x, m, 1.0)->value, table);
  check_printed(set, m, "TDEV", row.tdev, time_deviation(x, m)->value, table);
  check_printed(set, m, "HDEV", row.hdev, hadamard_deviation(x, m, 1.0)->value,
                table);
}

}  // namespace

TEST_CASE("phase deviations: NIST SP 1065, Tables 30 and 31, as shown") {
  // Digits as the public test suites of those tables have them.
  std::string table =
      "| points | m | statistic | printed | computed "
      "|\n|---|---|---|---|---|\n";
  const auto nine = nine_points();
  for (const auto& row : kTable30) check_row("9", nine, row, table);
  const auto thousand = thousand_points();
  for (const auto& row : kTable31) check_row("1000", thousand, row, table);
  testing::check_doc_table("stability.md", "NIST SP 1065", table);
}
