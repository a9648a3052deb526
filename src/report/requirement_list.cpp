// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/requirement_list.h"

#include <nlohmann/json.hpp>

#include "report/number_format.h"
#include "report/text_layout.h"

namespace clockassay {
namespace {

using Json = nlohmann::ordered_json;

std::string source_text(const Requirement& row) {
  std::string text(row.standard);
  if (!row.clause.empty()) text += ' ' + std::string(row.clause);
  return text + "; known by: " + known_by_name(row.known_by);
}

std::string limits_text(const Requirement& row) {
  std::vector<std::string> parts;
  if (row.nominal_hz) {
    parts.push_back(nominal_frequency(static_cast<double>(*row.nominal_hz)));
  }
  if (row.tolerance) {
    parts.push_back(limits(row.tolerance->low_ppm.to_double(),
                           row.tolerance->high_ppm.to_double(), "ppm"));
  }
  if (row.duty) {
    parts.push_back("duty " + plain_number(100.0 * row.duty->low) + " to " +
                    plain_number(100.0 * row.duty->high) + " %");
  }
  if (row.computed) parts.emplace_back("worked out from parameters");
  return side_by_side(parts);
}

Json number_or_null(const std::optional<double>& value) {
  return value ? Json(*value) : Json(nullptr);
}

Json row_json(const Requirement& row) {
  std::optional<double> low, high, duty_low, duty_high;
  if (row.tolerance) {
    low = row.tolerance->low_ppm.to_double();
    high = row.tolerance->high_ppm.to_double();
  }
  if (row.duty) {
    duty_low = row.duty->low;
    duty_high = row.duty->high;
  }
  return {
      {"id", row.id},
      {"title", row.title},
      {"nominal_hz", row.nominal_hz ? Json(*row.nominal_hz) : Json(nullptr)},
      {"low_ppm", number_or_null(low)},
      {"high_ppm", number_or_null(high)},
      {"duty_low", number_or_null(duty_low)},
      {"duty_high", number_or_null(duty_high)},
      {"standard", row.standard},
      {"clause", row.clause.empty() ? Json(nullptr) : Json(row.clause)},
      {"known_by", known_by_name(row.known_by)},
      {"may_decide", row.may_decide},
      {"from_parameters", row.computed},
      {"note", row.note.empty() ? Json(nullptr) : Json(row.note)}};
}

}  // namespace

std::string requirements_text(const std::vector<const Requirement*>& rows) {
  TextLayout out;
  for (const Requirement* row : rows) {
    out.paragraph(std::string(row->id), 2);
    out.labelled("", row->title);
    out.labelled("asks", limits_text(*row));
    out.labelled("source", source_text(*row));
    out.labelled("decides", row->may_decide
                                ? "yes"
                                : "no: shown only, its source was not read");
    if (!row->note.empty()) out.labelled("note", row->note);
  }
  return out.text();
}

std::string requirements_json(const std::vector<const Requirement*>& rows,
                              const std::string& tool_version) {
  Json list = Json::array();
  for (const Requirement* row : rows) list.push_back(row_json(*row));
  const Json tree = {{"schema", "clockassay/1"},
                     {"tool", {{"version", tool_version}}},
                     {"command", "requirements"},
                     {"requirements", list},
                     {"errors", Json::array()}};
  return tree.dump(2) + '\n';
}

}  // namespace clockassay
