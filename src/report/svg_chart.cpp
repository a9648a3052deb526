// SPDX-License-Identifier: GPL-3.0-or-later
#include <plplot/plplot.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <new>
#include <numbers>
#include <optional>
#include <pugixml.hpp>
#include <sstream>

#include "clockassay/base/printable.h"
#include "clockassay/base/utf8.h"
#include "clockassay/report/chart.h"
#include "report/chart_colours.h"
#include "report/chart_extent.h"
#include "report/chart_parts.h"
#include "report/plot_calls.h"

namespace clockassay {
namespace {

// Of the page and of the plot in it [points].
constexpr double kWidth = 720.0;
constexpr double kRowHeight = 26.0;
constexpr double kPlotHeight = 250.0;
constexpr double kLeft = 76.0;
constexpr double kLeftOfRows = 190.0;
constexpr double kRight = 18.0;
constexpr double kAbove = 58.0;
constexpr double kAboveWithout = 26.0;
constexpr double kBelow = 52.0;
constexpr double kCharacter = 9.0;  // height of a letter

/// The library writes a number sign before what it is to do.
std::string plain(const std::string& text) {
  // Its buffer of a text is of a thousand characters, and is not watched.
  constexpr std::size_t kMost = 160;
  std::string safe;
  for (const char c : printable_beginning(text, kMost)) {
    safe += c;
    if (c == '#') safe += '#';
  }
  return safe;
}

/// As much as there is room for beside a row.
std::string shortened(const std::string& text) {
  constexpr std::size_t kMost = 26;  // characters of the usual width
  std::string some;
  std::size_t count = 0;
  for (std::size_t at = 0; at < text.size() && count < kMost; ++count) {
    const std::size_t bytes =
        first_code_point(std::string_view(text).substr(at)).bytes;
    some += text.substr(at, bytes);
    at += bytes;
  }
  return some.size() < text.size() ? some + "\u2026" : some;
}

void free_text(char* text) {
  std::free(text);  // NOLINT(cppcoreguidelines-no-malloc): open_memstream's
}

class Drawing {
 public:
  Drawing(const Chart& chart, ChartHeading heading)
      : chart_(chart),
        has_heading_(heading == ChartHeading::kDrawn),
        extent_(extent_of(chart)),
        is_rows_(chart.y.scale == AxisScale::kRows),
        left_(is_rows_ ? kLeftOfRows : kLeft),
        plot_height_(is_rows_
                         ? kRowHeight * static_cast<double>(chart.y.rows.size())
                         : kPlotHeight),
        height_((has_heading_ ? kAbove : kAboveWithout) + plot_height_ +
                kBelow) {}

  /// The library's SVG.
  std::string draw() {
    char* text = nullptr;
    std::size_t size = 0;
    std::FILE* const file = open_memstream(&text, &size);
    if (file == nullptr) throw std::bad_alloc();
    begin(file);
    draw_key();
    pladv_window();
    draw_grid();
    for (const ChartSeries& s : chart_.series) draw_filled(s);
    for (const ChartSeries& s : chart_.series) draw_lines(s);
    for (const ChartLevel& level : chart_.levels) draw_level(level);
    draw_frame();
    plend();  // closes the file
    const std::unique_ptr<char, void (*)(char*)> owner(text, free_text);
    return {text, size};
  }

 private:
  void begin(std::FILE* file) const {
    plsdev("svg");
    plsfile(file);
    plspage(0.0, 0.0, static_cast<PLINT>(kWidth), static_cast<PLINT>(height_),
            0, 0);
    for (std::size_t i = 0; i < kChartColours.size(); ++i) {
      const ChartColour& c = kChartColours[i];
      plscol0(static_cast<PLINT>(i), c.red, c.green, c.blue);
    }
    plinit();
    pladv(0);
    // The page is laid out at 72 points an inch.
    plschr(kCharacter * 25.4 / 72.0, 1.0);
    // Numbers in full, as long as they are no longer than that.
    constexpr PLINT kMostDigits = 8;
    plsxax(kMostDigits, 0);
    plsyax(kMostDigits, 0);
    plsmaj(0.0, 1.0);
    plsmin(0.0, 1.0);
  }

  void view(double bottom, double top) const {
    plvpor(left_ / kWidth, 1.0 - kRight / kWidth, bottom / height_,
           top / height_);
  }

  void pladv_window() const {
    view(kBelow, kBelow + plot_height_);
    plwind(extent_.x_low, extent_.x_high, extent_.y_low, extent_.y_high);
  }

  /// Points of the page as steps of the axes.
  double across(double points) const {
    return points * (extent_.x_high - extent_.x_low) /
           (kWidth - left_ - kRight);
  }
  double upwards(double points) const {
    return points * (extent_.y_high - extent_.y_low) / plot_height_;
  }

  double at_x(double x) const { return on_scale(x, chart_.x.scale); }
  double at_y(double y) const { return on_scale(y, chart_.y.scale); }

  /// Samples of what is drawn, with their names, above the plot.
  void draw_key() const {
    constexpr double kSample = 28.0;
    constexpr double kUsualLetter = 5.6;  // wide, of those kCharacter high
    constexpr double kBetween = 20.0;
    std::vector<const ChartSeries*> named;
    for (const ChartSeries& s : chart_.series) {
      if (!s.name.empty()) named.push_back(&s);
    }
    if (named.empty()) return;
    view(kBelow + plot_height_ + 4.0, kBelow + plot_height_ + 20.0);
    const double wide = kWidth - left_ - kRight;
    plwind(0.0, wide, 0.0, 16.0);
    double x = 0.0;
    for (const ChartSeries* s : named) {
      draw_sample(*s, x, 8.0);
      plcol0(kInk);
      plptex(x + kSample, 8.0, 1.0, 0.0, 0.0, plain(s->name).c_str());
      x += kSample + kUsualLetter * static_cast<double>(s->name.size()) +
           kBetween;
    }
  }

  void draw_sample(const ChartSeries& s, double x, double y) const {
    switch (s.drawn) {
      case Drawn::kBand:
      case Drawn::kWideSpan:
        return fill(kFirstPale, {x, x + 22, x + 22, x},
                    {y - 5, y - 5, y + 5, y + 5});
      case Drawn::kNarrowSpan:
        return fill(kSecondPale, {x, x + 22, x + 22, x},
                    {y - 3, y - 3, y + 3, y + 3});
      case Drawn::kBox:
        return stroke(Drawn::kDashed, {x, x + 22, x + 22, x, x},
                      {y - 5, y - 5, y + 5, y + 5, y - 5});
      case Drawn::kPoints:
      case Drawn::kSquares:
        return draw_mark(s.drawn, x + 11, y, 3.5, 3.5);
      case Drawn::kLine:
      case Drawn::kDashed:
      case Drawn::kSteps:
        break;
    }
    stroke(s.drawn, {x, x + 22}, {y, y});
  }

  static void fill(ColourAt colour, const std::vector<double>& x,
                   const std::vector<double>& y) {
    plcol0(colour);
    plfill(static_cast<PLINT>(x.size()), x.data(), y.data());
  }

  static void stroke(Drawn drawn, const std::vector<double>& x,
                     const std::vector<double>& y) {
    constexpr std::array<PLINT, 1> kDash = {1500};  // micrometres
    constexpr std::array<PLINT, 1> kGap = {1000};
    const bool is_dashed = drawn == Drawn::kDashed;
    if (is_dashed) plstyl(1, kDash.data(), kGap.data());
    plcol0(is_dashed ? kSecond : kFirst);
    plwidth(1.4);
    plline(static_cast<PLINT>(x.size()), x.data(), y.data());
    plwidth(1.0);
    if (is_dashed) plstyl(0, kDash.data(), kGap.data());
  }

  /// A disc, or a square, with half its size in steps of the axes.
  static void draw_mark(Drawn drawn, double x, double y, double wide,
                        double high) {
    if (drawn == Drawn::kSquares) {
      return fill(kSecond, {x - wide, x + wide, x + wide, x - wide},
                  {y - high, y - high, y + high, y + high});
    }
    constexpr int kCorners = 16;
    std::vector<double> xs, ys;
    for (int i = 0; i < kCorners; ++i) {
      const double angle = 2.0 * std::numbers::pi * i / kCorners;
      xs.push_back(x + wide * std::cos(angle));
      ys.push_back(y + high * std::sin(angle));
    }
    fill(kFirst, xs, ys);
  }

  void draw_grid() const {
    plcol0(kGrid);
    const bool is_date = chart_.x.scale == AxisScale::kDate;
    const std::string x = chart_.x.scale == AxisScale::kLogarithmic ? "gl"
                          : is_date                                 ? "gd"
                                                                    : "g";
    const std::string y = is_rows_                                    ? ""
                          : chart_.y.scale == AxisScale::kLogarithmic ? "gl"
                                                                      : "g";
    plbox(x.c_str(), 0.0, 0, y.c_str(), 0.0, 0);
  }

  /// Runs without a gap, with the place each begins.
  template <class Use>
  static void each_run(std::size_t count, const auto& is_known,
                       const Use& use) {
    for (std::size_t i = 0; i < count;) {
      std::size_t end = i;
      while (end < count && is_known(end)) ++end;
      if (end > i) use(i, end);
      i = std::max(end, i) + 1;
    }
  }

  void draw_filled(const ChartSeries& s) const {
    if (s.drawn == Drawn::kWideSpan || s.drawn == Drawn::kNarrowSpan) {
      return draw_spans(s);
    }
    if (s.drawn == Drawn::kBand) draw_band(as_wide_as_the_plot(s));
  }

  void draw_band(const ChartSeries& s) const {
    const auto is_known = [&](std::size_t i) {
      return std::isfinite(at_x(s.x[i])) && std::isfinite(at_y(s.low[i])) &&
             std::isfinite(at_y(s.high[i]));
    };
    each_run(s.x.size(), is_known, [&](std::size_t from, std::size_t to) {
      std::vector<double> x, y;
      for (std::size_t i = from; i < to; ++i) {
        x.push_back(at_x(s.x[i]));
        y.push_back(at_y(s.high[i]));
      }
      for (std::size_t i = to; i-- > from;) {
        x.push_back(at_x(s.x[i]));
        y.push_back(at_y(s.low[i]));
      }
      // One place alone has no area.
      if (to - from > 1) fill(kFirstPale, x, y);
      if (s.x.size() > 2 || to - from == 1) stroke(Drawn::kLine, x, y);
    });
  }

  /// Of a band as many parts as the plot is points wide, each from its least to
  /// its greatest; what is drawn is the same.
  ChartSeries as_wide_as_the_plot(const ChartSeries& s) const {
    const auto most = static_cast<std::size_t>(kWidth - left_ - kRight);
    const std::size_t each = (s.x.size() + most - 1) / most;
    const bool has_gaps = std::any_of(s.low.begin(), s.low.end(),
                                      [](double v) { return std::isnan(v); });
    if (each < 2 || has_gaps) return s;
    ChartSeries some{s.name, s.drawn, {}, {}, {}, {}};
    for (std::size_t i = 0; i < s.x.size(); i += each) {
      const auto from = static_cast<std::ptrdiff_t>(i);
      const auto to =
          static_cast<std::ptrdiff_t>(std::min(i + each, s.x.size()));
      some.x.push_back(s.x[i]);
      some.low.push_back(
          *std::min_element(s.low.begin() + from, s.low.begin() + to));
      some.high.push_back(
          *std::max_element(s.high.begin() + from, s.high.begin() + to));
    }
    // The last part reaches to the end.
    some.x.push_back(s.x.back());
    some.low.push_back(some.low.back());
    some.high.push_back(some.high.back());
    return some;
  }

  void draw_spans(const ChartSeries& s) const {
    const bool is_wide = s.drawn == Drawn::kWideSpan;
    const double half = upwards(is_wide ? 9.0 : 5.0);
    for (std::size_t i = 0; i < s.x.size(); ++i) {
      const double y = at_y(s.y[i]);
      fill(is_wide ? kFirstPale : kSecondPale,
           {s.low[i], s.high[i], s.high[i], s.low[i]},
           {y - half, y - half, y + half, y + half});
    }
  }

  void draw_lines(const ChartSeries& s) const {
    switch (s.drawn) {
      case Drawn::kPoints:
      case Drawn::kSquares:
        return draw_points(s);
      case Drawn::kLine:
      case Drawn::kDashed:
      case Drawn::kSteps:
        return draw_line(s);
      case Drawn::kBox:
        return draw_box(s);
      case Drawn::kBand:
      case Drawn::kWideSpan:
      case Drawn::kNarrowSpan:
        break;
    }
  }

  void draw_box(const ChartSeries& s) const {
    const double left = at_x(s.x[0]), right = at_x(s.x[1]);
    const double low = at_y(s.low[0]), high = at_y(s.high[0]);
    stroke(Drawn::kDashed, {left, right, right, left, left},
           {low, low, high, high, low});
  }

  void draw_line(const ChartSeries& s) const {
    const auto is_known = [&](std::size_t i) {
      return std::isfinite(at_x(s.x[i])) && std::isfinite(at_y(s.y[i]));
    };
    each_run(s.x.size(), is_known, [&](std::size_t from, std::size_t to) {
      std::vector<double> x, y;
      for (std::size_t i = from; i < to; ++i) {
        if (s.drawn == Drawn::kSteps && i > from) {
          x.push_back(at_x(s.x[i]));
          y.push_back(at_y(s.y[i - 1]));
        }
        x.push_back(at_x(s.x[i]));
        y.push_back(at_y(s.y[i]));
      }
      stroke(s.drawn, x, y);
    });
  }

  void draw_points(const ChartSeries& s) const {
    for (std::size_t i = 0; i < s.x.size(); ++i) {
      const double x = at_x(s.x[i]), y = at_y(s.y[i]);
      if (!std::isfinite(x) || !std::isfinite(y)) continue;
      if (!s.low.empty()) draw_bar(s, i, x, y);
      draw_mark(s.drawn, x, y, across(3.5), upwards(3.5));
    }
  }

  void draw_bar(const ChartSeries& s, std::size_t i, double x, double y) const {
    plcol0(kInk);
    const auto line = [](double x1, double y1, double x2, double y2) {
      const std::array<double, 2> xs = {x1, x2}, ys = {y1, y2};
      plline(2, xs.data(), ys.data());
    };
    if (is_rows_) {
      const double cap = upwards(4.0);
      line(s.low[i], y, s.high[i], y);
      line(s.low[i], y - cap, s.low[i], y + cap);
      line(s.high[i], y - cap, s.high[i], y + cap);
      return;
    }
    const double low = std::max(at_y(s.low[i]), extent_.y_low);
    const double high = at_y(s.high[i]);
    const double cap = across(4.0);
    line(x, low, x, high);
    line(x - cap, low, x + cap, low);
    line(x - cap, high, x + cap, high);
  }

  void draw_level(const ChartLevel& level) const {
    const double at = level.is_upright ? at_x(level.at) : at_y(level.at);
    if (!std::isfinite(at)) return;
    const std::vector<double> whole =
        level.is_upright ? std::vector<double>{extent_.y_low, extent_.y_high}
                         : std::vector<double>{extent_.x_low, extent_.x_high};
    stroke(Drawn::kDashed,
           level.is_upright ? std::vector<double>{at, at} : whole,
           level.is_upright ? whole : std::vector<double>{at, at});
    plcol0(kInk);
    const std::string name = plain(level.name);
    if (level.is_upright) {
      plptex(at + across(3.0), extent_.y_high - upwards(9.0), 1.0, 0.0, 0.0,
             name.c_str());
    } else {
      plptex(extent_.x_high - across(4.0), at + upwards(7.0), 1.0, 0.0, 1.0,
             name.c_str());
    }
  }

  void draw_frame() const {
    plcol0(kInk);
    const bool is_log_x = chart_.x.scale == AxisScale::kLogarithmic;
    const bool is_log_y = chart_.y.scale == AxisScale::kLogarithmic;
    if (chart_.x.scale == AxisScale::kDate) pltimefmt("%Y-%m-%d");
    const std::string x = std::string("bnst") + (is_log_x ? "l" : "") +
                          (chart_.x.scale == AxisScale::kDate ? "d" : "");
    const std::string y =
        is_rows_ ? "b" : std::string("bnstv") + (is_log_y ? "l" : "");
    plbox(x.c_str(), 0.0, 0, y.c_str(), 0.0, 0);
    plmtex("b", 3.4, 0.5, 0.5, plain(chart_.x.label).c_str());
    if (!is_rows_) {
      plmtex("l", 6.2, 0.5, 0.5, plain(chart_.y.label).c_str());
    }
    for (std::size_t i = 0; i < chart_.y.rows.size(); ++i) {
      const double at = (at_y(static_cast<double>(i)) - extent_.y_low) /
                        (extent_.y_high - extent_.y_low);
      plmtex("lv", 0.8, at, 1.0, plain(shortened(chart_.y.rows[i])).c_str());
    }
    if (!has_heading_) return;
    // At the left edge of the page.
    const double title_at = -(left_ - 4.0) / (kWidth - left_ - kRight);
    plmtex("t", 3.6, title_at, 0.0, plain(chart_.title).c_str());
  }

  const Chart& chart_;
  bool has_heading_;
  ChartExtent extent_;
  bool is_rows_;
  double left_;
  double plot_height_;
  double height_;
};

/// With a title and a description for who does not see it, and of the size of
/// whatever holds it.
Result<std::string> described(const Chart& chart, const std::string& drawn) {
  pugi::xml_document document;
  const auto read = document.load_buffer(drawn.data(), drawn.size());
  pugi::xml_node svg = document.child("svg");
  if (!read || !svg) {
    return failure(ErrorCode::kInternal,
                   "the picture of '" + printable(chart.title) +
                       "' is no XML: " + read.description());
  }
  svg.append_attribute("role") = "img";
  svg.append_attribute("font-family") = "sans-serif";
  pugi::xml_node title = svg.prepend_child("title");
  title.text() = printable(chart.title).c_str();
  pugi::xml_node note = svg.insert_child_after("desc", title);
  note.text() = printable(chart.note).c_str();
  std::ostringstream out;
  document.save(out, "", pugi::format_raw | pugi::format_no_declaration);
  return out.str();
}

}  // namespace

Result<std::string> draw_chart(const Chart& chart, ChartHeading heading) {
  if (auto found = have_plotting_library(); !found) {
    return tl::unexpected(found.error());
  }
  return described(chart, Drawing(chart, heading).draw());
}

Result<std::string> svg_chart(const Chart& chart) {
  return draw_chart(chart, ChartHeading::kDrawn);
}

}  // namespace clockassay
