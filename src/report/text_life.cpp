// SPDX-License-Identifier: GPL-3.0-or-later
#include <string>

#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

std::string share_text(const LifeShare& share) {
  std::string text = message_text(share.name) + ": ";
  if (share.band) {
    text += unbroken(limits(share.band->low.value(), share.band->high.value(),
                            "ppm")) +
            ", ";
  }
  return text + message_text(share.why);
}

}  // namespace

void put_life(TextLayout& out, const LifeStack& life) {
  const double U = life.expanded_uncertainty.value();
  out.labelled("over life", "");
  out.item("-",
           "now, as measured: " +
               unbroken(signed_with_uncertainty(life.error.value(), U, "ppm")) +
               ", load and stray of this board are in it");
  for (const LifeShare& share : life.shares) {
    out.item("-", share_text(share));
  }
  out.item("-", std::string(life.combine == CombineRule::kSum
                                ? "these move it, added, by "
                                : "these move it, as root of the sum of "
                                  "squares, by ") +
                    unbroken(limits_to(life.moves.low.value(),
                                       life.moves.high.value(), U, "ppm")));
  out.item("-", "altogether: " + unbroken(limits_to(
                                     life.altogether.low.value(),
                                     life.altogether.high.value(), U, "ppm")));
}

}  // namespace clockassay
