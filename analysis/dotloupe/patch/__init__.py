"""What is printed: geometry in millimetres, drawing, coded corner marks, sheets."""
