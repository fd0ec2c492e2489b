# sh testdata/canvas/render.sh      (in the repository's root)
#
# Writes the trial figure's picture, and has other programs draw its SVG and
# PDF: librsvg (rsvg-convert 2.54 or later) and poppler (pdftoppm 22 or later).
set -e
folder=$(cd "$(dirname "$0")" && pwd)
go test ./render/canvas -run 'TestWriteRepeatsItsBytes' -keep "$folder"
rsvg-convert --dpi-x 150 --dpi-y 150 "$folder/trial.svg" -o "$folder/trial-librsvg.png"
pdftoppm -r 150 -singlefile -png "$folder/trial.pdf" "$folder/trial-poppler"
rm "$folder/trial.svg" "$folder/trial.pdf"
go test ./render/canvas -run 'TestRasterLooksAsBefore' -keep "$folder"
