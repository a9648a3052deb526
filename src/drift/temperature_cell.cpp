// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/temperature_cell.h"

#include <string>

#include "capture/shown_text.h"
#include "clockassay/drift/series_table.h"

namespace clockassay {
namespace {

constexpr const char* kTemperature = "a temperature in degrees Celsius";
constexpr const char* kSpread = "a standard uncertainty in kelvin, 0 or more";

std::string shown_cell(const NamedTable& table, const TableRow& row,
                       std::string_view name) {
  return shown_text(row.cells[column_of(table, name)]);
}

}  // namespace

Result<TemperatureCell> temperature_in(const NamedTable& table,
                                       const TableRow& row) {
  const auto celsius = number_in(table, row, "temperature_c", kTemperature);
  if (!celsius) return tl::unexpected<Error>(celsius.error());
  if (!*celsius) {
    return refuse_cell(row, "temperature_c", "nothing", kTemperature,
                       "delete the row where it is not known");
  }
  TemperatureCell cell;
  cell.celsius = **celsius;
  if (cell.celsius < kLowestTemperature || cell.celsius > kHighestTemperature) {
    return refuse_cell(row, "temperature_c",
                       shown_cell(table, row, "temperature_c"),
                       std::string(kTemperature) + " from -200 to 200",
                       "kelvin or fahrenheit? convert it to degrees Celsius");
  }
  const auto u = number_in(table, row, "u_temperature_c", kSpread);
  if (!u) return tl::unexpected<Error>(u.error());
  cell.u = *u;
  // Chosen: a thermometer that is off by more than 50 K measures nothing.
  constexpr double kMostSpread = 50.0;
  if (cell.u && (*cell.u < 0.0 || *cell.u > kMostSpread)) {
    return refuse_cell(row, "u_temperature_c",
                       shown_cell(table, row, "u_temperature_c"),
                       std::string(kSpread) + " and 50 at most",
                       "a tolerance of ±a is a standard uncertainty of "
                       "0.58 a");
  }
  return cell;
}

}  // namespace clockassay
