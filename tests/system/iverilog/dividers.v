// SPDX-License-Identifier: GPL-3.0-or-later
// A clock of 100 MHz divided by 2 and by 16. One tick is 1 ps.
//   clk    half period 5000 ticks, first rise at 5000: rises at 5000 + 10000 k
//   div2   toggles at every rise of clk: rises at 5000 + 20000 k
//   div16  bit 3 of a counter that starts at 0: after the 8th rise of clk, so
//          first at 5000 + 7 * 10000 = 75000: rises at 75000 + 160000 k
// The end is at 16 002 000 ticks, between edges; the last is the fall of clk
// at 16 000 000.
`timescale 1ns / 1ps
module dividers;
  reg clk = 0;
  reg div2 = 0;
  reg [3:0] count = 0;
  wire div16 = count[3];

  always #5 clk = !clk;
  always @(posedge clk) begin
    div2 <= !div2;
    count <= count + 1;
  end

  initial begin
    $dumpfile("dividers.vcd");
    $dumpvars(0, dividers);
    #16002 $finish;
  end
endmodule
