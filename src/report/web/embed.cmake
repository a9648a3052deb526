# SPDX-License-Identifier: GPL-3.0-or-later
# Writes the parts of a page as C++ texts.
# In: WEB     folder of report.css and report.js
#     CHART   folder of the chart library
#     OUT     the source to write
function(text_of name file)
  file(READ "${file}" content)
  if(content MATCHES "\\)text\"" OR content MATCHES "</script")
    message(FATAL_ERROR "${file} cannot be put into a page as it is")
  endif()
  file(APPEND "${OUT}.new"
    "const char* const ${name} =\n    R\"text(${content})text\";\n\n")
endfunction()

file(WRITE "${OUT}.new" "#include \"report/page_parts.h\"\n
namespace clockassay {\n\n")
text_of(kPageStyle "${WEB}/report.css")
text_of(kPageScript "${WEB}/report.js")
text_of(kChartStyle "${CHART}/dist/uPlot.min.css")
text_of(kChartScript "${CHART}/dist/uPlot.iife.min.js")
text_of(kChartLicense "${CHART}/LICENSE")
file(APPEND "${OUT}.new" "}  // namespace clockassay\n")
file(RENAME "${OUT}.new" "${OUT}")
