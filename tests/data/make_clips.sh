#!/bin/sh
# Makes the clips that the tests of the clip source read, with the ffmpeg command line.
#   sh make_clips.sh FOLDER
# Nothing is made again while FOLDER/made is newer than this script.
set -eu
script=$0
folder=$1
# Tests run side by side: the first makes the clips, the others wait.
exec 9> "$folder.lock"
flock 9
[ "$folder/made" -nt "$script" ] 2>/dev/null && exit 0
rm -rf "$folder"
mkdir -p "$folder"
cd "$folder"

ff() {
    ffmpeg -v error -nostdin -y "$@"
}

# A moving picture of 1 s at 160x120.
pattern="testsrc2=size=160x120:rate=30:duration=1"
x265="-x265-params log-level=error:pools=1:frame-threads=1"

# ---- containers and codings
ff -f lavfi -i $pattern -c:v mjpeg -q:v 4 -pix_fmt yuvj420p mjpeg.avi
ff -f lavfi -i $pattern -c:v mjpeg -q:v 4 -pix_fmt yuvj422p mjpeg.mov
ff -f lavfi -i $pattern -c:v mjpeg -q:v 4 -pix_fmt yuvj444p mjpeg.mkv
ff -f lavfi -i $pattern -c:v mjpeg -q:v 4 -pix_fmt yuvj420p -f mjpeg mjpeg.mjpeg
ff -f lavfi -i $pattern -c:v libx264 -pix_fmt yuv420p -bf 2 h264.mp4
ff -f lavfi -i $pattern -c:v libx264 -pix_fmt yuv420p -movflags +faststart front.mp4
ff -f lavfi -i $pattern -c:v libx264 -pix_fmt yuv422p h264.mov
ff -f lavfi -i $pattern -c:v libx264 -pix_fmt yuv444p h264.mkv
ff -f lavfi -i $pattern -c:v libx264 -pix_fmt yuv420p10le h264_10.mp4
ff -f lavfi -i $pattern -c:v libx265 $x265 -pix_fmt yuv420p -tag:v hvc1 hevc.mp4
ff -f lavfi -i $pattern -c:v libx265 $x265 -pix_fmt yuv422p12le hevc_12.mov
ff -f lavfi -i $pattern -c:v libvpx -deadline realtime vp8.webm
ff -f lavfi -i $pattern -c:v libvpx-vp9 -deadline realtime -cpu-used 8 vp9.webm
ff -f lavfi -i $pattern -c:v rawvideo -pix_fmt yuyv422 yuyv.avi
ff -f lavfi -i $pattern -c:v rawvideo -pix_fmt nv12 nv12.nut
ff -f lavfi -i $pattern -c:v libx264 -pix_fmt gray gray.mp4
ff -f lavfi -i $pattern -c:v libx264rgb -pix_fmt rgb24 -qp 0 rgb.mkv
ff -f lavfi -i $pattern -frames:v 5 -start_number 7 shot%03d.jpg
ff -f lavfi -i $pattern -frames:v 5 shot%03d.png
ff -f lavfi -i $pattern -frames:v 1 still.png
ff -f lavfi -i $pattern -frames:v 1 -pix_fmt pal8 palette.png
ff -f lavfi -i $pattern -frames:v 1 still.jpg
ff -f lavfi -i $pattern -frames:v 1 -s 1x1 one.png
ff -f lavfi -i $pattern -frames:v 1 -s 1x1 one.jpg
ff -f lavfi -i color=c=gray:size=5472x3648 -frames:v 1 large.jpg

# ---- time
gaps="select='not(mod(n\,5))+lt(n\,12)'"
for kind in avi mov mkv; do
    ff -f lavfi -i $pattern -vf "$gaps" -vsync vfr -c:v mjpeg "gaps.$kind"
done
ff -f lavfi -i $pattern -vf "$gaps" -vsync vfr -c:v libx264 gaps.mp4
ff -f lavfi -i $pattern -vf "$gaps" -vsync vfr -c:v libvpx -deadline realtime gaps.webm
ff -f lavfi -i $pattern -c:v libx264 -output_ts_offset 5 late.mp4
ff -f lavfi -i $pattern -c:v mjpeg -output_ts_offset 5 late.mkv
ff -f lavfi -i $pattern -c:v libx264 -muxdelay 0 stream.ts
# Starts in the middle of a group of pictures: an edit list hides the first ones.
ff -ss 0.5 -i h264.mp4 -c copy edited.mp4
ff -ss 0.52 -i mjpeg.mov -c copy edited.mov
ff -f lavfi -i "testsrc2=size=160x120:rate=240:duration=0.5" -c:v libx264 \
    -vf setpts=8*PTS -r 30 -movflags use_metadata_tags \
    -metadata com.android.capture.fps=240 slow.mp4
ff -f lavfi -i "color=c=teal:size=160x120:rate=10:duration=1" -c:v mjpeg same.avi
ff -f lavfi -i "color=c=teal:size=160x120:rate=10:duration=1" -c:v libx264 same.mp4
ff -f lavfi -i $pattern -c:v libx264 -metadata creation_time=2026-03-04T05:06:07Z dated.mp4

# ---- turned: a red corner at the coded top left; what ffmpeg itself shows, as PNG
corner="color=c=gray:size=160x96:rate=10:duration=0.3,drawbox=x=8:y=20:w=32:h=16:c=red:t=fill"
ff -f lavfi -i "$corner" -c:v libx264 -pix_fmt yuv420p turn0.mp4
for turn in 90 180 270; do
    ff -i turn0.mp4 -c copy -metadata:s:v rotate=$turn turn$turn.mp4
done
ff -f lavfi -i "$corner" -c:v mjpeg -pix_fmt yuvj422p turnj0.mov
ff -i turnj0.mov -c copy -metadata:s:v rotate=90 turnj90.mov
for turn in turn0.mp4 turn90.mp4 turn180.mp4 turn270.mp4 turnj90.mov; do
    ff -i $turn -frames:v 1 $turn.shown.png
done
ff -f lavfi -i "$corner" -frames:v 1 -q:v 2 corner.jpg

# ---- colour: flat green, blue, magenta, cyan in every matrix and range
for colour in 28aa46 2d3cc8 d71e82 14afcd; do
    for matrix in bt601 bt709; do
        for range in tv pc; do
            tag=$matrix
            [ $matrix = bt601 ] && tag=smpte170m
            ff -f lavfi -i "color=c=0x$colour:size=64x64:rate=10:duration=0.2,format=rgb24" \
                -vf "scale=out_color_matrix=$matrix:out_range=$range:flags=accurate_rnd+full_chroma_int,format=yuv444p" \
                -c:v libx264 -qp 1 -colorspace $tag -color_range $range \
                "flat_${colour}_${matrix}_$range.mkv"
        done
    done
    ff -f lavfi -i "color=c=0x$colour:size=64x64:rate=10:duration=0.2" \
        -vf "scale=out_color_matrix=bt709:out_range=tv,format=yuv420p10le" \
        -c:v libx265 $x265:crf=4 -colorspace bt709 -color_range tv "flat_${colour}_10.mp4"
    ff -f lavfi -i "color=c=0x$colour:size=64x64" -frames:v 1 "flat_$colour.png"
    ff -f lavfi -i "color=c=0x$colour:size=64x64" -frames:v 1 -q:v 1 "flat_$colour.jpg"
done
# No tags: taken as BT.601 for standard definition and BT.709 for HD.
ff -f lavfi -i "color=c=0x28aa46:size=64x64:rate=10:duration=0.2" \
    -vf "scale=out_color_matrix=bt601,format=yuv420p" -c:v libx264 -qp 1 untagged_sd.mp4
ff -f lavfi -i "color=c=0x28aa46:size=1280x720:rate=10:duration=0.2" \
    -vf "scale=out_color_matrix=bt709,format=yuv420p" -c:v libx264 -qp 1 untagged_hd.mp4
ff -f lavfi -i $pattern -c:v libx265 $x265 -pix_fmt yuv420p10le -color_trc arib-std-b67 \
    -colorspace bt2020nc -color_primaries bt2020 -tag:v hvc1 hlg.mp4
ff -f lavfi -i $pattern -c:v libx265 $x265 -pix_fmt yuv420p10le -color_trc smpte2084 \
    -colorspace bt2020nc -color_primaries bt2020 pq.mp4
ff -f lavfi -i $pattern -c:v libx265 $x265:chromaloc=2 -pix_fmt yuv420p topleft.mp4

# The time stamps as ffprobe reads them, one a line.
for clip in *.avi *.mov *.mkv *.mp4 *.webm *.ts; do
    ffprobe -v error -select_streams v:0 -show_entries frame=best_effort_timestamp_time \
        -of csv=p=0 "$clip" | tr -d ',' | sed '/^$/d' > "$clip.times"
done

# ---- what is no clip, or not whole
ff -f lavfi -i sine=duration=0.5 sound.wav
ff -f lavfi -i sine=duration=0.5 -c:a aac sound.m4a
: > empty.mp4
echo "these are words, not pictures" > words.mp4
echo "these are words, not pictures" > words.txt
printf '#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\nh264.mp4\n#EXT-X-ENDLIST\n' > list.m3u8
printf "ffconcat version 1.0\nfile h264.mp4\n" > list.txt
mkdir folder
ff -f lavfi -i $pattern -c:v libx264 -vf setsar=16/15 oblong.mp4
# Two sizes in one stream.
ff -f lavfi -i "testsrc2=size=96x64:rate=30:duration=0.3" -c:v mjpeg -f mjpeg small.mjpeg
cat mjpeg.mjpeg small.mjpeg > sizes.mjpeg
touch made
