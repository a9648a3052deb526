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
#include "report/chart_digits.h"
#include "report/chart_extent.h"
#include "report/chart_parts.h"
#include "report/html_node.h"
#include "report/html_parts.h"
#include "report/number_format.h"
#include "report/page_words.h"
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
  for (pugi::xml_node child = svg.first_child(); child;) {
    const pugi::xml_node next = child.next_sibling();
    if (child.type() == pugi::node_comment) svg.remove_child(child);
    child = next;
  }
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

std::string date_text(double seconds) {
  const auto time = static_cast<std::time_t>(seconds);
  std::tm parts = {};
  gmtime_r(&time, &parts);
  std::array<char, 32> text;
  std::strftime(text.data(), text.size(), "%Y-%m-%d %H:%M:%S", &parts);
  return text.data();
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

/// "what" or the name of the axis, values, and ends of intervals.
std::vector<std::string> columns_of(const Chart& chart, const ChartSeries& s,
                                    bool has_value) {
  const bool is_rows = chart.y.scale == AxisScale::kRows;
  std::vector<std::string> columns = {is_rows ? "what" : chart.x.label};
  if (s.drawn == Drawn::kSteps) columns[0] = "about " + columns[0];
  if (has_value) {
    columns.push_back("#" + (is_rows ? chart.x.label : chart.y.label));
  }
  if (!s.low.empty()) columns.insert(columns.end(), {"#from", "#to"});
  return columns;
}

/// Figures of one series, each to the last place that means something.
class SeriesFigures {
 public:
  SeriesFigures(const Chart& chart, const ChartSeries& s)
      : chart_(chart),
        series_(s),
        is_rows_(chart.y.scale == AxisScale::kRows),
        places_(places_of_values(chart, s)) {
    if (!is_rows_) x_places_ = places_of_x(chart, s);
  }

  std::string place(std::size_t at) const {
    if (is_rows_) return chart_.y.rows[static_cast<std::size_t>(series_.y[at])];
    return chart_.x.scale == AxisScale::kDate
               ? date_text(series_.x[at])
               : number_to_place(middle_at(at), x_places_[at]);
  }

  std::string value(std::size_t at) const {
    return figure(is_rows_ ? series_.x[at] : series_.y[at], at);
  }

  std::string figure(double value, std::size_t at) const {
    if (!std::isfinite(value)) return kNotKnown;
    return is_exact(series_) ? plain_number(value)
                             : number_to_place(value, places_[at]);
  }

 private:
  // A step is told by its middle.
  double middle_at(std::size_t at) const {
    const bool has_end = at + 1 < series_.x.size();
    return series_.drawn == Drawn::kSteps && has_end
               ? 0.5 * (series_.x[at] + series_.x[at + 1])
               : series_.x[at];
  }

  const Chart& chart_;
  const ChartSeries& series_;
  bool is_rows_;
  std::vector<int> places_;
  std::vector<int> x_places_;
};

std::string table_caption(const Chart& chart, const ChartSeries& s,
                          bool has_value) {
  std::string caption = !s.about.empty()  ? s.about
                        : !s.name.empty() ? s.name
                                          : chart.title;
  const bool is_rows = chart.y.scale == AxisScale::kRows;
  if (!has_value) caption += ", " + (is_rows ? chart.x.label : chart.y.label);
  const std::size_t each = values_a_row(s);
  if (each > 1) {
    caption += "; thinned: extremes of " + std::to_string(s.x.size()) +
               " parts in " + std::to_string((s.x.size() + each - 1) / each) +
               " rows";
  }
  return caption;
}

void add_series_table(pugi::xml_node parent, const Chart& chart,
                      const ChartSeries& s) {
  const bool has_value = !s.y.empty() && s.drawn != Drawn::kWideSpan &&
                         s.drawn != Drawn::kNarrowSpan;
  HtmlTable table(parent, table_caption(chart, s, has_value),
                  columns_of(chart, s, has_value));
  const SeriesFigures figures(chart, s);
  const std::size_t each = values_a_row(s);
  for (std::size_t at = 0; at < s.x.size(); at += each) {
    const std::size_t to = std::min(at + each, s.x.size());
    // A gap between the parts of a band has no row.
    if (!has_value && std::isnan(s.low[at]) && to == at + 1) continue;
    std::vector<std::string> cells = {figures.place(at)};
    if (has_value) cells.push_back(figures.value(at));
    if (!s.low.empty()) {
      cells.push_back(figures.figure(least_of(s.low, at, to), at));
      cells.push_back(figures.figure(most_of(s.high, at, to), at));
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

/// One for all, or one each.
Json places_json(const std::vector<int>& places) {
  if (places.empty()) return nullptr;
  const bool is_one = std::all_of(places.begin(), places.end(),
                                  [&](int p) { return p == places[0]; });
  return is_one ? Json(places[0]) : Json(places);
}

Json axis_json(const ChartAxis& axis) {
  return {{"label", page_words(printable(axis.label))},
          {"scale", scale_name(axis.scale)}};
}

/// From where to where all of it lies, in its unit.
Json range_json(const Chart& chart) {
  const ChartExtent e = extent_of(chart);
  if (chart.y.scale != AxisScale::kLogarithmic) return {e.y_low, e.y_high};
  return {std::pow(10.0, e.y_low), std::pow(10.0, e.y_high)};
}

Json chart_json(const Chart& chart) {
  Json series = Json::array();
  for (const ChartSeries& s : chart.series) {
    series.push_back({{"name", printable(s.name)},
                      {"drawn", drawn_name(s.drawn)},
                      {"x", values_json(s.x, chart.x.scale)},
                      {"y", values_json(s.y)},
                      {"low", values_json(s.low)},
                      {"high", values_json(s.high)},
                      {"about", printable(s.about)},
                      {"places", places_json(places_of_values(chart, s))},
                      {"x_places", places_json(places_of_x(chart, s))}});
  }
  Json levels = Json::array();
  for (const ChartLevel& level : chart.levels) {
    levels.push_back({{"name", printable(level.name)},
                      {"at", level.at},
                      {"upright", level.is_upright}});
  }
  return {{"id", chart.id},
          {"title", printable(chart.title)},
          {"x", axis_json(chart.x)},
          {"y", axis_json(chart.y)},
          {"y_range", range_json(chart)},
          {"series", series},
          {"levels", levels}};
}

}  // namespace

Result<void> add_figure(pugi::xml_node page, const Chart& chart) {
  pugi::xml_node figure = add(page, "figure");
  figure.append_attribute("id") = ("chart-" + chart.id).c_str();
  pugi::xml_node caption = add(figure, "figcaption");
  add(caption, "strong", chart.title);
  if (!chart.note.empty()) add_words(caption, "span", chart.note);
  if (!chart.nothing.empty()) {
    add_words(figure, "p", chart.nothing);
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
                 is_date ? date_text(level.at) : level_text(level)});
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
