// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/report/chart.h"
#include "report/chart_colours.h"
#include "report/chart_extent.h"

namespace clockassay {

/// What the plot of a picture shows, and how large it is [points].
struct PlotWindow {
  const Chart& chart;
  ChartExtent extent;
  double wide;
  double high;

  bool has_rows() const { return chart.y.scale == AxisScale::kRows; }

  /// Points of the page as steps of the axes.
  double across(double points) const {
    return points * (extent.x_high - extent.x_low) / wide;
  }
  double upwards(double points) const {
    return points * (extent.y_high - extent.y_low) / high;
  }

  double at_x(double x) const { return on_scale(x, chart.x.scale); }
  double at_y(double y) const { return on_scale(y, chart.y.scale); }
};

// What follows draws with the plotting library, which has one state for the
// whole process: the picture that was begun last, and its colours.

void fill(ColourAt colour, const std::vector<double>& x,
          const std::vector<double>& y);

/// A line, dashed for kDashed.
void stroke(Drawn drawn, const std::vector<double>& x,
            const std::vector<double>& y);

/// A disc, or a square, with half its size in steps of the axes.
void draw_mark(Drawn drawn, double x, double y, double wide, double high);

/// Bands and spans, which lie below all lines.
void draw_filled(const PlotWindow& window, const ChartSeries& series);

/// All others.
void draw_lines(const PlotWindow& window, const ChartSeries& series);

/// Values that others are held against, with their names.
void draw_levels(const PlotWindow& window);

/// A text as the library takes it, of which there is room for so much.
std::string plot_text(const std::string& text);

}  // namespace clockassay
