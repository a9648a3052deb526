// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "clockassay/base/printable.h"
#include "report/chart_colours.h"
#include "report/chart_parts.h"
#include "report/html_node.h"
#include "report/html_parts.h"
#include "report/number_format.h"
#include "report/xml_text.h"

namespace clockassay {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kNotKnown = "\u2013";

/// "#104870", as the still picture has it.
std::string hexadecimal(const ChartColour& c) {
  std::array<char, 8> text;
  std::snprintf(text.data(), text.size(), "#%02X%02X%02X",
                static_cast<unsigned>(c.red), static_cast<unsigned>(c.green),
                static_cast<unsigned>(c.blue));
  return text.data();
}

/// Colours of the picture become those of the page, which has them light and
/// dark.
void take_page_colours(pugi::xml_node node) {
  for (const char* name : {"fill", "stroke"}) {
    pugi::xml_attribute attribute = node.attribute(name);
    for (const ChartColour& c : kChartColours) {
      if (hexadecimal(c) != attribute.value()) continue;
      const std::string value = std::string("var(--") + c.name + ")";
      attribute.set_value(value.c_str());
      break;
    }
  }
  for (pugi::xml_node child : node.children()) take_page_colours(child);
}

/// Names within one picture become those of the page.
void take_own_names(pugi::xml_node node, const std::string& id) {
  constexpr std::string_view kReference = "url(#";
  for (pugi::xml_attribute attribute : node.attributes()) {
    std::string value = attribute.value();
    if (std::string_view(attribute.name()) == "id") {
      attribute.set_value((id + "-" + value).c_str());
    } else if (value.starts_with(kReference)) {
      value.insert(kReference.size(), id + "-");
      attribute.set_value(value.c_str());
    }
  }
  for (pugi::xml_node child : node.children()) take_own_names(child, id);
}

Result<void> add_still(pugi::xml_node parent, const Chart& chart,
                       bool is_narrow) {
  const auto drawn = draw_chart(chart, {ChartHeading::kElsewhere, is_narrow});
  if (!drawn) return tl::unexpected(drawn.error());
  XmlDocument picture;
  picture.load_buffer(drawn->data(), drawn->size());
  pugi::xml_node svg = parent.append_copy(picture.child("svg"));
  svg.remove_attribute("width");
  svg.remove_attribute("height");
  take_page_colours(svg);
  take_own_names(svg, chart.id + (is_narrow ? "-narrow" : ""));
  return {};
}

/// What is no live chart is there for a telephone, too; the others can be
/// scrolled where there is no script.
Result<void> add_stills(pugi::xml_node figure, const Chart& chart) {
  const bool is_rows = chart.y.scale == AxisScale::kRows;
  pugi::xml_node still =
      add(figure, "div", "", is_rows ? "still" : "still wide");
  if (!is_rows) make_scrollable(still, chart.title);
  if (!is_rows) return add_still(still, chart, false);
  if (auto drawn = add_still(add(still, "div", "", "broad"), chart, false);
      !drawn) {
    return drawn;
  }
  return add_still(add(still, "div", "", "narrow"), chart, true);
}

std::string figure_text(double value) {
  if (!std::isfinite(value)) return "";
  constexpr int kDigits = 8;  // as in what the page draws
  const double size = std::abs(value);
  if (value == 0.0 || (size >= 1e-3 && size < 1e7)) {
    return number_to_digits(value, kDigits);
  }
  return scientific(value, kDigits);
}

std::string date_text(double seconds) {
  const auto time = static_cast<std::time_t>(seconds);
  std::tm parts = {};
  gmtime_r(&time, &parts);
  std::array<char, 32> text;
  std::strftime(text.data(), text.size(), "%Y-%m-%d %H:%M:%S", &parts);
  return text.data();
}

std::string place_text(const ChartAxis& axis, double x) {
  return axis.scale == AxisScale::kDate ? date_text(x) : figure_text(x);
}

/// How many values a row of a table stands for: of many neighbours from their
/// least to their greatest, which only a band has.
std::size_t values_a_row(const ChartSeries& s) {
  constexpr std::size_t kMost = 512;  // chosen
  if (s.drawn != Drawn::kBand) return 1;
  return std::max<std::size_t>((s.x.size() + kMost - 1) / kMost, 1);
}

double least_of(const std::vector<double>& v, std::size_t from,
                std::size_t to) {
  return *std::min_element(v.begin() + static_cast<std::ptrdiff_t>(from),
                           v.begin() + static_cast<std::ptrdiff_t>(to));
}

double most_of(const std::vector<double>& v, std::size_t from, std::size_t to) {
  return *std::max_element(v.begin() + static_cast<std::ptrdiff_t>(from),
                           v.begin() + static_cast<std::ptrdiff_t>(to));
}

void add_series_table(pugi::xml_node parent, const Chart& chart,
                      const ChartSeries& s) {
  const bool is_rows = chart.y.scale == AxisScale::kRows;
  const std::size_t each = values_a_row(s);
  std::vector<std::string> columns = {is_rows ? "what" : chart.x.label};
  const std::string& label = is_rows ? chart.x.label : chart.y.label;
  const bool has_value = !s.y.empty() && s.drawn != Drawn::kWideSpan &&
                         s.drawn != Drawn::kNarrowSpan;
  if (s.drawn == Drawn::kSteps) columns[0] = "from " + columns[0];
  if (has_value) columns.push_back("#" + label);
  if (!s.low.empty()) columns.insert(columns.end(), {"#from", "#to"});
  std::string caption = s.name.empty() ? chart.title : s.name;
  if (!has_value) caption += ", " + label;
  if (each > 1) {
    caption += "; thinned: extremes of " + std::to_string(s.x.size()) +
               " parts in " + std::to_string((s.x.size() + each - 1) / each) +
               " rows";
  }
  HtmlTable table(parent, caption, columns);
  for (std::size_t at = 0; at < s.x.size(); at += each) {
    const std::size_t to = std::min(at + each, s.x.size());
    std::vector<std::string> cells = {
        is_rows ? chart.y.rows[static_cast<std::size_t>(s.y[at])]
                : place_text(chart.x, s.x[at])};
    if (has_value) cells.push_back(figure_text(is_rows ? s.x[at] : s.y[at]));
    if (!s.low.empty()) {
      const bool is_known = !std::isnan(s.low[at]);
      cells.push_back(is_known ? figure_text(least_of(s.low, at, to))
                               : kNotKnown);
      cells.push_back(is_known ? figure_text(most_of(s.high, at, to))
                               : kNotKnown);
    }
    table.row(cells);
  }
}

const char* drawn_name(Drawn drawn) {
  switch (drawn) {
    case Drawn::kLine:
      return "line";
    case Drawn::kDashed:
      return "dashed";
    case Drawn::kSteps:
      return "steps";
    case Drawn::kPoints:
      return "points";
    case Drawn::kSquares:
      return "squares";
    case Drawn::kBand:
      return "band";
    case Drawn::kBox:
      return "box";
    case Drawn::kGuess:
      return "guess";
    case Drawn::kWideSpan:
    case Drawn::kNarrowSpan:
      break;
  }
  return "span";
}

const char* scale_name(AxisScale scale) {
  switch (scale) {
    case AxisScale::kLogarithmic:
      return "logarithmic";
    case AxisScale::kDate:
      return "date";
    case AxisScale::kRows:
      return "rows";
    case AxisScale::kLinear:
      break;
  }
  return "linear";
}

/// Numbers to eight digits, which is more than a screen shows; what is none is
/// null. Dates in full.
Json values_json(const std::vector<double>& values,
                 AxisScale scale = AxisScale::kLinear) {
  Json list = Json::array();
  for (const double v : values) {
    if (!std::isfinite(v)) {
      list.push_back(nullptr);
    } else if (scale == AxisScale::kDate) {
      list.push_back(v);
    } else {
      std::array<char, 32> text;
      std::snprintf(text.data(), text.size(), "%.8g", v);
      list.push_back(std::strtod(text.data(), nullptr));
    }
  }
  return list;
}

Json axis_json(const ChartAxis& axis) {
  return {{"label", printable(axis.label)}, {"scale", scale_name(axis.scale)}};
}

Json chart_json(const Chart& chart) {
  Json series = Json::array();
  for (const ChartSeries& s : chart.series) {
    series.push_back({{"name", printable(s.name)},
                      {"drawn", drawn_name(s.drawn)},
                      {"x", values_json(s.x, chart.x.scale)},
                      {"y", values_json(s.y)},
                      {"low", values_json(s.low)},
                      {"high", values_json(s.high)}});
  }
  Json levels = Json::array();
  for (const ChartLevel& level : chart.levels) {
    levels.push_back({{"name", printable(level.name)},
                      {"at", level.at},
                      {"upright", level.is_upright}});
  }
  return {{"id", chart.id},          {"title", printable(chart.title)},
          {"x", axis_json(chart.x)}, {"y", axis_json(chart.y)},
          {"series", series},        {"levels", levels}};
}

}  // namespace

Result<void> add_figure(pugi::xml_node page, const Chart& chart) {
  pugi::xml_node figure = add(page, "figure");
  figure.append_attribute("id") = ("chart-" + chart.id).c_str();
  pugi::xml_node caption = add(figure, "figcaption");
  add(caption, "strong", chart.title);
  if (!chart.note.empty()) add(caption, "span", chart.note);
  if (!chart.nothing.empty()) {
    add(figure, "p", chart.nothing);
    return {};
  }
  if (auto drawn = add_stills(figure, chart); !drawn) return drawn;
  add(figure, "div", "", "live");
  pugi::xml_node numbers = add(figure, "details");
  add(numbers, "summary", "The numbers of this chart");
  for (const ChartSeries& s : chart.series) {
    add_series_table(numbers, chart, s);
  }
  if (!chart.levels.empty()) {
    HtmlTable table(numbers, "Lines", {"line", "#at"});
    for (const ChartLevel& level : chart.levels) {
      const bool is_date =
          level.is_upright && chart.x.scale == AxisScale::kDate;
      table.row({level.name.empty() ? "mark" : level.name,
                 is_date ? date_text(level.at) : figure_text(level.at)});
    }
  }
  return {};
}

std::string chart_data(const std::vector<Chart>& charts) {
  Json list = Json::array();
  for (const Chart& chart : charts) {
    if (chart.y.scale == AxisScale::kRows) continue;  // looked at as they are
    list.push_back(chart_json(chart));
  }
  std::string text = list.dump(-1, ' ', true);
  std::string safe;
  for (const char c : text) {
    switch (c) {
      case '<':
        safe += "\\u003c";
        break;
      case '>':
        safe += "\\u003e";
        break;
      case '&':
        safe += "\\u0026";
        break;
      default:
        safe += c;
    }
  }
  return safe;
}

}  // namespace clockassay
