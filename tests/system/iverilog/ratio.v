// SPDX-License-Identifier: GPL-3.0-or-later
// Two clocks whose frequencies are as 21 to 5, exactly. One tick is 1 fs.
//   source  period 42000 ticks: rises at 21000 + 42000 k
//   output  period 10000 ticks: rises at  5000 + 10000 k
// 5 * 42000 = 21 * 10000 = 210000 ticks.
`timescale 1ps / 1fs
module ratio;
  reg source = 0;
  reg out = 0;

  always #21 source = !source;
  always #5 out = !out;

  initial begin
    $dumpfile("ratio.vcd");
    $dumpvars(0, ratio);
    #210001 $finish;  // 1000 times 210000 ticks and a little more
  end
endmodule
