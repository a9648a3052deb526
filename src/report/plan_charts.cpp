// SPDX-License-Identifier: GPL-3.0-or-later
#include <utility>

#include "clockassay/plan/pull_curve.h"
#include "clockassay/report/plan_report.h"
#include "report/html_node.h"
#include "report/html_page.h"
#include "report/html_parts.h"
#include "report/plan_lines.h"
#include "report/xml_text.h"

namespace clockassay {
namespace {

constexpr double kPicofarad = 1e-12;
constexpr const char* kOpen = "what is left open";

/// What a pair of capacitors gives: its point, and the box that its load and
/// the crystal leave open.
void add_effect(const LoadEffect& effect, const char* name, Drawn drawn,
                const char* box_name, Chart& chart) {
  const double load = effect.load.value() / kPicofarad;
  const double open = effect.load_uncertainty.value() / kPicofarad;
  const double low = effect.pull_low.value();
  const double high = effect.pull_high.value();
  chart.series.push_back({box_name,
                          Drawn::kBox,
                          {load - open, load + open},
                          {},
                          {low, low},
                          {high, high},
                          {},
                          std::string(kOpen) + ", " + name});
  chart.series.push_back({name, drawn, {load}, {effect.pull.value()}, {}, {}});
}

}  // namespace

Chart pull_chart(const LoadPlan& plan) {
  Chart chart;
  chart.id = "pull";
  chart.title = "Pull against load";
  chart.note =
      "How far a load moves the frequency, against the load the crystal is "
      "made for; the band is of what C0 and C1 may be. A box is what "
      "capacitors and stray leave open.";
  chart.x = {"load / pF"};
  chart.y = {"pull / ppm"};
  ChartSeries band{"crystals it may be", Drawn::kBand, {}, {}, {}, {}};
  ChartSeries curve{"middle of them", Drawn::kLine, {}, {}, {}, {}};
  for (const PullPoint& p : pull_curve(plan)) {
    const double load = p.load.value() / kPicofarad;
    band.x.push_back(load);
    band.low.push_back(p.low.value());
    band.high.push_back(p.high.value());
    band.open.push_back(0.5 * (p.high.value() - p.low.value()));
    curve.x.push_back(load);
    curve.y.push_back(p.pull.value());
    curve.open.push_back(band.open.back());
  }
  chart.series = {std::move(band), std::move(curve)};
  if (plan.chosen)
    add_effect(*plan.chosen, "to fit", Drawn::kPoints, kOpen, chart);
  if (plan.fitted) {
    add_effect(*plan.fitted, "fitted", Drawn::kSquares,
               plan.chosen ? "" : kOpen, chart);
  }
  chart.levels.push_back(
      {"asked for", plan.input.crystal_load.value() / kPicofarad, true});
  return chart;
}

Result<std::string> plan_page(const LoadPlan& plan,
                              const std::string& tool_version) {
  XmlDocument document;
  pugi::xml_node main = add(document, "main");
  pugi::xml_node head = add(main, "header");
  add(head, "p", "clockassay plan load", "kind");
  add(head, "h1", "Load capacitors");
  const Chart chart = pull_chart(plan);
  if (auto drawn = add_figure(main, chart); !drawn) {
    return tl::unexpected(drawn.error());
  }
  TextLayout text;
  say_plan(plan, text);
  add_blocks(main, text.blocks());
  add(main, "footer", "A plan of what is known before; it is no measurement.");
  return page_text({"Load capacitors", tool_version}, document, {chart});
}

}  // namespace clockassay
