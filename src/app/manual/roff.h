// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

/// Text for a manual page: man(7) and groff_char(7) say what means something.
namespace clockassay {

/// Text as it stands: nothing in it is a request or an escape. In: ASCII.
std::string roff_text(std::string_view text);

/// Text in bold or italics.
std::string roff_bold(std::string_view text);
std::string roff_italic(std::string_view text);

/// ".SH NAME" and the like, on a line of its own.
std::string roff_heading(std::string_view macro, std::string_view text);

/// A term and what is said about it; both are roff already.
std::string roff_entry(const std::string& term, const std::string& text);

}  // namespace clockassay
