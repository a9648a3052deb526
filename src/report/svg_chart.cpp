// SPDX-License-Identifier: GPL-3.0-or-later
#include <plplot/plplot.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <mutex>
#include <new>
#include <utility>
#include <vector>

#include "clockassay/base/printable.h"
#include "clockassay/base/utf8.h"
#include "clockassay/report/chart.h"
#include "report/chart_parts.h"
#include "report/display_width.h"
#include "report/page_words.h"
#include "report/plot_calls.h"
#include "report/plot_window.h"
#include "report/xml_text.h"

namespace clockassay {
namespace {

// Of the page and of the plot in it [points].
constexpr double kWidth = 720.0;
constexpr double kNarrowWidth = 350.0;
constexpr double kRowHeight = 26.0;
constexpr double kTallRowHeight = 44.0;  // with its name above it
constexpr double kPlotHeight = 250.0;
constexpr double kLeft = 76.0;
constexpr double kLeftOfRows = 190.0;
constexpr double kLeftOfTallRows = 10.0;
constexpr double kRight = 18.0;
constexpr double kHeading = 32.0;
constexpr double kAbove = 10.0;
constexpr double kKeyHeight = 16.0;  // of each line of it
constexpr double kBelow = 52.0;
constexpr double kCharacter = 9.0;    // height of a letter
constexpr double kUsualLetter = 5.6;  // wide, of those kCharacter high
constexpr double kSample = 28.0;      // of a key, with the blank after it
constexpr double kBetween = 20.0;     // one entry of a key and the next

/// As much as there is room for beside a row, or above it.
std::string shortened(const std::string& text, bool is_tall) {
  const std::size_t most = is_tall ? 48 : 26;  // characters of the usual width
  std::string some;
  std::size_t count = 0;
  for (std::size_t at = 0; at < text.size() && count < most; ++count) {
    const std::size_t bytes =
        first_code_point(std::string_view(text).substr(at)).bytes;
    some += text.substr(at, bytes);
    at += bytes;
  }
  return some.size() < text.size() ? some + "\u2026" : some;
}

/// What the library writes. A stream of the system's own would leave out what
/// there is no memory for, and the library does not look.
class SvgText {
 public:
  SvgText() {
    cookie_io_functions_t calls{};
    calls.write = add;
    file_ = fopencookie(this, "w", calls);
    if (file_ == nullptr) throw std::bad_alloc();
  }
  std::FILE* file() const { return file_; }
  /// Once the file was closed.
  std::string whole() && {
    if (is_cut_) throw std::bad_alloc();
    return std::move(text_);
  }

 private:
  static ssize_t add(void* self, const char* bytes, std::size_t size) {
    auto* const out = static_cast<SvgText*>(self);
    try {
      out->text_.append(bytes, size);
    } catch (const std::bad_alloc&) {
      out->is_cut_ = true;
    }
    return static_cast<ssize_t>(size);
  }

  std::string text_;
  bool is_cut_ = false;
  std::FILE* file_ = nullptr;
};

// Where the library leaves something out it says so, and goes on.
bool left_something_out = false;

void take_note(PLCHAR_VECTOR /*why*/) {
  left_something_out = true;
}

/// Where an entry of the key is: from the left of the plot, and in which line.
struct KeyPlace {
  const ChartSeries* series;
  double from;
  std::size_t line;
};

std::vector<KeyPlace> key_places(const Chart& chart, double wide) {
  std::vector<KeyPlace> places;
  double x = 0.0;
  std::size_t line = 0;
  for (const ChartSeries& s : chart.series) {
    if (s.name.empty()) continue;
    const double takes =
        kSample + kUsualLetter * static_cast<double>(display_width(s.name));
    if (x > 0.0 && x + takes > wide) {
      x = 0.0;
      ++line;
    }
    places.push_back({&s, x, line});
    x += takes + kBetween;
  }
  return places;
}

class Drawing {
 public:
  Drawing(const Chart& chart, ChartLook look)
      : chart_(chart),
        look_(look),
        is_rows_(chart.y.scale == AxisScale::kRows),
        width_(look.is_narrow ? kNarrowWidth : kWidth),
        left_(!is_rows_        ? kLeft
              : look.is_narrow ? kLeftOfTallRows
                               : kLeftOfRows),
        window_{chart, extent_of(chart), width_ - left_ - kRight,
                is_rows_
                    ? row_height() * static_cast<double>(chart.y.rows.size())
                    : kPlotHeight},
        key_(key_places(chart, window_.wide)) {
    const std::size_t lines = key_.empty() ? 1 : key_.back().line + 1;
    height_ = (look.heading == ChartHeading::kDrawn ? kHeading : 0.0) + kAbove +
              kKeyHeight * static_cast<double>(lines) + window_.high + kBelow;
  }

  /// The library's SVG. Throws std::bad_alloc where that is not whole.
  std::string draw() {
    SvgText text;
    left_something_out = false;
    plsabort(take_note);
    begin(text.file());
    draw_key();
    view(kBelow, kBelow + window_.high);
    const ChartExtent& e = window_.extent;
    plwind(e.x_low, e.x_high, e.y_low, e.y_high);
    draw_grid();
    for (const ChartSeries& s : chart_.series) draw_filled(window_, s);
    for (const ChartSeries& s : chart_.series) draw_lines(window_, s);
    draw_levels(window_);
    draw_frame();
    plend();  // closes the file
    // Of memory, then: texts, numbers and windows are such as it takes.
    if (left_something_out) throw std::bad_alloc();
    return std::move(text).whole();
  }

 private:
  bool is_tall() const { return is_rows_ && look_.is_narrow; }
  double row_height() const { return is_tall() ? kTallRowHeight : kRowHeight; }

  void begin(std::FILE* file) const {
    plsdev("svg");
    plsfile(file);
    plspage(0.0, 0.0, static_cast<PLINT>(width_), static_cast<PLINT>(height_),
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
    plvpor(left_ / width_, 1.0 - kRight / width_, bottom / height_,
           top / height_);
  }

  /// Samples of what is drawn, with their names, above the plot.
  void draw_key() const {
    if (key_.empty()) return;
    const double high = kKeyHeight * static_cast<double>(key_.back().line + 1);
    view(kBelow + window_.high + 4.0, kBelow + window_.high + 4.0 + high);
    plwind(0.0, window_.wide, 0.0, high);
    for (const KeyPlace& place : key_) {
      const double y =
          high - kKeyHeight * (static_cast<double>(place.line) + 0.5);
      draw_sample(*place.series, place.from, y);
      plcol0(kInk);
      plptex(place.from + kSample, y, 1.0, 0.0, 0.0,
             plot_text(place.series->name).c_str());
    }
  }

  static void draw_sample(const ChartSeries& s, double x, double y) {
    switch (s.drawn) {
      case Drawn::kBand:
        fill(kFirstPale, {x, x + 22, x + 22, x}, {y - 5, y - 5, y + 5, y + 5});
        return stroke(Drawn::kLine, {x, x + 22, x + 22, x, x},
                      {y - 5, y - 5, y + 5, y + 5, y - 5});
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
      case Drawn::kGuess:
      case Drawn::kSteps:
        break;
    }
    stroke(s.drawn, {x, x + 22}, {y, y});
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
    plmtex("b", 3.4, 0.5, 0.5, plot_text(chart_.x.label).c_str());
    if (!is_rows_) {
      plmtex("l", 6.2, 0.5, 0.5, plot_text(chart_.y.label).c_str());
    }
    for (std::size_t i = 0; i < chart_.y.rows.size(); ++i) name_row(i);
    if (look_.heading == ChartHeading::kElsewhere) return;
    // At the left edge of the page, above the key.
    const double title_at = -(left_ - 4.0) / window_.wide;
    const double lines =
        key_.empty() ? 1.0 : static_cast<double>(key_.back().line + 1);
    plmtex("t", 1.8 + 1.8 * lines, title_at, 0.0,
           plot_text(chart_.title).c_str());
  }

  void name_row(std::size_t i) const {
    const std::string name = plot_text(shortened(
        page_words(chart_.y.rows[i], LineEnds::kAnywhere), is_tall()));
    const double y = window_.at_y(static_cast<double>(i));
    const ChartExtent& e = window_.extent;
    if (is_tall()) {
      plptex(e.x_low + window_.across(4.0), y + window_.upwards(16.0), 1.0, 0.0,
             0.0, name.c_str());
      return;
    }
    plmtex("lv", 0.8, (y - e.y_low) / (e.y_high - e.y_low), 1.0, name.c_str());
  }

  const Chart& chart_;
  ChartLook look_;
  bool is_rows_;
  double width_;
  double left_;
  PlotWindow window_;
  std::vector<KeyPlace> key_;
  double height_ = 0.0;
};

/// Figures of the axes have a minus.
void write_minuses(pugi::xml_node node) {
  for (pugi::xml_node child : node.children()) {
    if (child.type() != pugi::node_pcdata) {
      write_minuses(child);
      continue;
    }
    const std::string text = child.value();
    // Names begin with a letter, or are not figures to their end.
    if (text.find_first_not_of("-.0123456789") == std::string::npos) {
      child.set_value(with_minus(text).c_str());
    }
  }
}

/// Names of levels have a rim of the paper: what is below does not cross them.
void rim_names(pugi::xml_node svg, const Chart& chart) {
  for (pugi::xml_node node : svg.children()) {
    rim_names(node, chart);
    if (std::string_view(node.name()) != "text") continue;
    std::string text;
    for (const auto& span : node.select_nodes(".//text()")) {
      text += span.node().value();
    }
    const bool is_name = std::any_of(
        chart.levels.begin(), chart.levels.end(),
        [&](const ChartLevel& l) { return !l.name.empty() && l.name == text; });
    if (!is_name) continue;
    node.append_attribute("stroke") = "#FFFFFF";
    node.append_attribute("stroke-width") = "4";
    node.append_attribute("stroke-linejoin") = "round";
    node.append_attribute("paint-order") = "stroke";
  }
}

/// With a title and a description for who does not see it, and of the size of
/// whatever holds it.
Result<std::string> described(const Chart& chart, const std::string& drawn) {
  XmlDocument document;
  const auto read = document.load_buffer(drawn.data(), drawn.size());
  pugi::xml_node svg = document.child("svg");
  if (!read || !svg) {
    return failure(ErrorCode::kInternal,
                   "the picture of '" + printable(chart.title) +
                       "' is no XML: " + read.description());
  }
  write_minuses(svg);
  rim_names(svg, chart);
  svg.append_attribute("role") = "img";
  svg.append_attribute("font-family") = "sans-serif";
  pugi::xml_node title = svg.prepend_child("title");
  title.text() = printable(chart.title).c_str();
  pugi::xml_node note = svg.insert_child_after("desc", title);
  note.text() = page_words(printable(chart.note)).c_str();
  svg.prepend_child(pugi::node_comment).set_value(kPictureMark);
  return xml_text(document);
}

}  // namespace

Result<std::string> draw_chart(const Chart& chart, ChartLook look) {
  // The library has one picture at a time, whoever draws it.
  static std::mutex one_at_a_time;
  const std::lock_guard<std::mutex> lock(one_at_a_time);
  if (auto found = have_plotting_library(); !found) {
    return tl::unexpected(found.error());
  }
  return described(chart, Drawing(chart, look).draw());
}

Result<std::string> svg_chart(const Chart& chart) {
  return draw_chart(chart, {ChartHeading::kDrawn, false});
}

}  // namespace clockassay
