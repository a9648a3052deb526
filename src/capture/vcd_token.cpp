// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_token.h"

#include <algorithm>

namespace clockassay {
namespace {

constexpr std::string_view kHeader[] = {
    "$comment", "$date", "$enddefinitions", "$scope", "$timescale",
    "$upscope", "$var",  "$version"};
constexpr std::string_view kDump[] = {
    "$dumpvars",  "$dumpall",      "$dumpon",      "$dumpoff",
    "$dumpports", "$dumpportsall", "$dumpportson", "$dumpportsoff"};

}  // namespace

bool is_vcd_header_keyword(std::string_view token) {
  return std::ranges::find(kHeader, token) != std::end(kHeader);
}

bool is_vcd_dump_keyword(std::string_view token) {
  return std::ranges::find(kDump, token) != std::end(kDump);
}

bool is_vcd_body_keyword(std::string_view token) {
  return token == "$vcdclose" || is_vcd_dump_keyword(token);
}

}  // namespace clockassay
