// What the mixer board is for, in a few lines: the sum of two levels, held at full, or the higher one.
module mixer(input tick, mix, input [15:0] a, b, output reg [15:0] out);
  wire [16:0] sum = a + b;
  wire [15:0] level = mix ? (sum[16] ? 16'hffff : sum[15:0]) : a > b ? a : b;
  always @(posedge tick) out <= level;
endmodule
